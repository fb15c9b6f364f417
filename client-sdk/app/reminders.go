package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// showReminders shows when a member wants to hear of tasks: one's own, or another's
// if this is a keeper.
func (a *App) showReminders(_ context.Context, rest string) Answer {
	own := a.house.Member()
	member := own
	if rest != "" {
		var err error
		if member, err = model.ParseID[model.Member](rest); err != nil || member != own && a.house.Role() != model.Keeper {
			return Answer{}
		}
	}
	v, ok := a.remindersView(member)
	if !ok {
		return Answer{}
	}
	answer := a.screen(screens.SpotHousehold, screens.Reminders(a.t, v))
	if v.Me && !a.house.Local() {
		answer.Push = "look"
	}
	return answer
}

func (a *App) remindersView(member model.MemberID) (v screens.RemindersView, ok bool) {
	keeper, own, local := a.house.Role() == model.Keeper, a.house.Member(), a.house.Local()
	a.house.Read(func(b *model.Book) {
		m := b.Members[member]
		if m == nil {
			return
		}
		ok = true
		v = screens.RemindersView{
			Member: member.String(), Name: a.who(b, member), Me: member == own,
			DigestAt: minuteText(m.DigestAt), Evening: m.Evening, AwayFrom: dateText(m.AwayFrom), AwayUntil: dateText(m.AwayUntil), Ends: dateText(m.Ends),
			MayEnd: keeper && m.Role == model.Guest,
			Push:   screens.PushView{State: texts.PushAsked}, Calendar: screens.CalendarView{Sample: local},
		}
		if local { // a sample has nobody to send messages
			v.Push.State = texts.PushNone
		}
		if m.QuietFrom != m.QuietTo {
			v.QuietFrom, v.QuietTo = clockText(m.QuietFrom), clockText(m.QuietTo)
		}
		if !v.Me || !keeper {
			return
		}
		v.Others = a.otherMembers(b, member)
		v.Turns, v.Turn = a.turnChoices(nil), screens.TurnAnyone
		if b.Household.Turn == model.Rotating {
			v.Turn = screens.TurnRotating
		}
	})
	return v, ok
}

func (a *App) otherMembers(b *model.Book, than model.MemberID) (out []screens.Named) {
	for id, m := range b.Members {
		if id != than && m.Role != 0 {
			out = append(out, screens.Named{ID: id.String(), Name: a.who(b, id)})
		}
	}
	slices.SortFunc(out, func(x, y screens.Named) int {
		return cmp.Or(strings.Compare(x.Name, y.Name), strings.Compare(x.ID, y.ID))
	})
	return out
}

// minuteText is a minute of the day as a field takes it, "" for 0, which is never.
func minuteText(minute int) string {
	if minute == 0 {
		return ""
	}
	return clockText(minute)
}

func clockText(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

func dateText(d model.Date) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

// Minute is a time of day in minutes; ok is false if there is none.
func (d Data) Minute(name string) (minute int, ok bool) {
	t, err := time.Parse("15:04", d.Get(name))
	return t.Hour()*60 + t.Minute(), err == nil
}

// date is a civil day, 0 if there is none.
func (d Data) date(name string) model.Date {
	day, err := model.ParseDate(d.Get(name))
	if err != nil {
		return 0
	}
	return day
}

func (a *App) saveReminders(ctx context.Context, e Event) Answer {
	d := e.Data
	member := id[model.Member](d, "member")
	fields, problem := a.reminderFields(d)
	if problem != "" {
		return a.remindersProblem(d, member, problem)
	}
	if _, asked := d["ends"]; asked && a.house.Role() == model.Keeper {
		fields = append(fields, replica.To(model.MemberEnds, model.Int(d.date("ends"))))
	}
	if op := a.changed(replica.Set(model.KindMember, member, fields...)); len(op.Fields) > 0 {
		if _, failed := a.write(ctx, op); failed != nil {
			return *failed
		}
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Say.Saved}
}

func (a *App) reminderFields(d Data) (fields []oplog.Setting, problem string) {
	at, _ := d.Minute("digest")
	from, hasFrom := d.Minute("quietfrom")
	to, hasTo := d.Minute("quietto")
	first, last := d.date("awayfrom"), d.date("awayuntil")
	switch {
	case hasFrom != hasTo:
		return nil, a.t.Reminders.NeedTime
	case last != 0 && (first == 0 || last < first):
		return nil, a.t.Reminders.NeedSpan
	}
	return []oplog.Setting{
		replica.To(model.MemberDigestAt, model.Int(at)), replica.To(model.MemberEvening, model.Bool(d.On("evening"))),
		replica.To(model.MemberQuietFrom, model.Int(from)), replica.To(model.MemberQuietTo, model.Int(to)),
		replica.To(model.MemberAwayFrom, model.Int(first)), replica.To(model.MemberAwayUntil, model.Int(last)),
	}, ""
}

// remindersProblem shows the form as it was sent, with what is wrong.
func (a *App) remindersProblem(d Data, member model.MemberID, problem string) Answer {
	v, ok := a.remindersView(member)
	if !ok {
		return Answer{}
	}
	v.Problem, v.DigestAt, v.Evening, v.Ends = problem, d.Get("digest"), d.On("evening"), d.Get("ends")
	v.QuietFrom, v.QuietTo, v.AwayFrom, v.AwayUntil = d.Get("quietfrom"), d.Get("quietto"), d.Get("awayfrom"), d.Get("awayuntil")
	return a.screen(screens.SpotHousehold, screens.Reminders(a.t, v))
}

// turnChoices are the ways in which turns go, with each of some members always.
func (a *App) turnChoices(members []screens.Named) []screens.Named {
	r := a.t.Reminders
	out := []screens.Named{{ID: screens.TurnAnyone, Name: r.Anyone}, {ID: screens.TurnRotating, Name: r.Rotating}}
	for _, m := range members {
		out = append(out, screens.Named{ID: m.ID, Name: r.Always(m.Name)})
	}
	return out
}

// placeTurns are the choices for one place, and the one that holds.
func (a *App) placeTurns(b *model.Book, p *model.Place) (choices []screens.Named, chosen string) {
	choices = append([]screens.Named{{ID: screens.TurnHousehold, Name: a.t.Reminders.AsHousehold}}, a.turnChoices(a.otherMembers(b, model.MemberID{}))...)
	switch {
	case p == nil || !p.TurnSet:
		return choices, screens.TurnHousehold
	case p.Turn == model.OneMember:
		return choices, p.TurnOf.String()
	case p.Turn == model.Rotating:
		return choices, screens.TurnRotating
	}
	return choices, screens.TurnAnyone
}

// turnFields are a place's own turn as its form sends it.
func turnFields(d Data) []oplog.Setting {
	turn, of := model.AnyoneHome, id[model.Member](d, "turn")
	switch {
	case d.Get("turn") == screens.TurnHousehold:
		return []oplog.Setting{replica.To(model.PlaceTurnSet, model.Bool(false))}
	case d.Get("turn") == screens.TurnRotating:
		turn = model.Rotating
	case !of.IsZero():
		turn = model.OneMember
	}
	fields := []oplog.Setting{replica.To(model.PlaceTurnSet, model.Bool(true)), replica.To(model.PlaceTurn, model.Int(turn))}
	if turn == model.OneMember {
		fields = append(fields, replica.To(model.PlaceTurnOf, model.IDValue(of)))
	}
	return fields
}

// saveTurn sets whose turn it is where a place does not say otherwise.
func (a *App) saveTurn(ctx context.Context, e Event) Answer {
	turn := model.AnyoneHome
	if e.Data.Get("turn") == screens.TurnRotating {
		turn = model.Rotating
	}
	op := a.changed(replica.Set(model.KindHousehold, a.house.Household(), replica.To(model.HouseholdTurn, model.Int(turn))))
	if len(op.Fields) > 0 {
		if _, failed := a.write(ctx, op); failed != nil {
			return *failed
		}
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Say.Saved}
}
