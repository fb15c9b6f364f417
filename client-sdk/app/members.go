package app

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// showMembers shows what lies under the household: a member, what does not count, and
// the ways back.
func (a *App) showMembers(rest string) Answer {
	page, rest := cutRoute(rest)
	switch page {
	case "member":
		m, err := model.ParseID[model.Member](rest)
		if v, ok := a.memberView(m); err == nil && ok {
			return a.screen(screens.SpotHousehold, screens.Member(a.t, v))
		}
	case "aside":
		return a.screen(screens.SpotHousehold, screens.Aside(a.t, a.asideRows()))
	case "rejoin":
		if why := a.signedOff(); why != nil {
			return a.screen(screens.SpotHousehold, screens.Rejoin(a.t, screens.RejoinView{Why: why.Words}))
		}
	case "file":
		if !a.house.Local() {
			return a.screen(screens.SpotHousehold, screens.HandOver(a.t, screens.HandOverView{}))
		}
	}
	return Answer{}
}

func (a *App) memberView(m model.MemberID) (v screens.MemberView, ok bool) {
	me, role, access := a.house.Member(), a.house.Role(), a.house.Access()
	a.house.Read(func(b *model.Book) {
		x := b.Members[m]
		if ok = x != nil; !ok {
			return
		}
		keeper := role == model.Keeper && access == nil && !a.house.Local()
		heard := heardAt(b)
		v = screens.MemberView{ID: m.String(), Name: a.who(b, m), Role: x.Role, Me: m == me, LastKeeper: x.Role == model.Keeper && keepers(b) == 1}
		v.Appoint = keeper && !v.LastKeeper && x.Role != 0
		v.Stay, v.Reminders = a.stay(x), keeper && !v.Me && x.Role != 0
		v.Remove = keeper && !v.Me && x.Role != 0
		v.Leave = v.Me && access == nil && !v.LastKeeper && !a.house.Local()
		phones := slices.DeleteFunc(devicesOf(b, m), func(d *model.Device) bool { return d.Ended })
		for _, d := range phones {
			p := screens.MemberPhone{ID: d.ID.String(), Name: a.lastHeard(b, d.ID, heard[d.ID]), This: d.ID == a.house.Device()}
			p.Revoke = !p.This && keeper && (!v.LastKeeper || len(phones) > 1)
			v.Phones = append(v.Phones, p)
		}
	})
	return v, ok
}

// stay says how long a guest stays, "" for everybody else.
func (a *App) stay(m *model.Member) string {
	switch {
	case m.Role != model.Guest:
		return ""
	case m.Ends == 0:
		return a.t.Reminders.StayOpen
	case m.Ends < a.today():
		return a.t.Reminders.StayOver(a.t.Format.Day(m.Ends))
	}
	return a.t.Reminders.StayUntil(a.t.Format.Day(m.Ends))
}

// keepers counts the members who may change the household.
func keepers(b *model.Book) int {
	n := 0
	for _, m := range b.Members {
		if m.Role == model.Keeper {
			n++
		}
	}
	return n
}

// changeMembers carries out a change of members. It syncs before, so that the change
// applies to as little as possible that nobody here has seen; offline it still holds.
func (a *App) changeMembers(ctx context.Context, change func() error, route, say string) Answer {
	if a.server != nil {
		_ = a.house.Sync(ctx, a.server) // what went wrong is in the status line
	}
	if err := change(); err != nil {
		return Answer{Say: a.words(err)}
	}
	a.derived = derived{}
	answer := a.Go(ctx, route)
	answer.Go, answer.Say = route, say
	return answer
}

func (a *App) appoint(ctx context.Context, e Event) Answer {
	m, role := id[model.Member](e.Data, "member"), model.Role(e.Data.Int("role"))
	if !role.Valid() {
		return Answer{}
	}
	return a.changeMembers(ctx, func() error { return a.house.ChangeRole(ctx, m, role) }, screens.MemberRoute(m.String()), a.t.Members.Appointed)
}

func (a *App) revoke(ctx context.Context, e Event) Answer {
	d := id[model.Device](e.Data, "device")
	return a.changeMembers(ctx, func() error { return a.house.Revoke(ctx, d) }, a.route, a.t.Members.Revoked)
}

func (a *App) removeMember(ctx context.Context, e Event) Answer {
	m, name := id[model.Member](e.Data, "member"), ""
	a.house.Read(func(b *model.Book) { name = a.who(b, m) })
	return a.changeMembers(ctx, func() error { return a.house.Remove(ctx, m) }, screens.RouteHousehold, a.t.Members.Removed(name))
}

func (a *App) leave(ctx context.Context, _ Event) Answer {
	return a.changeMembers(ctx, func() error { return a.house.Leave(ctx) }, screens.RouteHousehold, a.t.Members.Left)
}

// signedOff says why this phone may not write any more, nil if it may. A phone that
// somebody else has signed off hears of it from the server.
func (a *App) signedOff() *fault.Fault {
	if f, ok := fault.From(a.house.Access()); ok && f.Code != oplog.ErrStranger.Code {
		return f
	}
	if f := a.house.Status().Trouble; f != nil && slices.Contains(keptOut, f.Code) {
		return f
	}
	return nil
}

// keptOut are the faults by which a server lets a phone in no more: it was signed off, or
// what it came by has run out, was used, or is gone with what the server had before it
// was restored. A new invitation helps in each case.
var keptOut = append([]fault.Code{oplog.ErrRevoked.Code, oplog.ErrUsed.Code, "invitation_expired"}, unknown...)

// unknown are the faults of a server that may not know the household: it lost all it had,
// or is another one. Then a new set-up link helps as well.
var unknown = []fault.Code{oplog.ErrInvitation.Code, oplog.ErrStranger.Code, "setup_token_unknown", "setup_token_expired", "setup_token_used"}

// unknownThere reports whether the server may not know the household.
func (a *App) unknownThere() bool {
	f := a.house.Status().Trouble
	return f != nil && slices.Contains(unknown, f.Code)
}

func (a *App) returnView(setup, problem string) screens.ReturnView {
	v := screens.ReturnView{Setup: setup, Problem: problem}
	a.house.Read(func(b *model.Book) { v.Household = b.Household.Name })
	return v
}

// bringHouse brings the household back to a server that does not know it any more.
func (a *App) bringHouse(ctx context.Context, e Event) Answer {
	setup := e.Data.Get("setup")
	if err := a.house.Return(ctx, a.server, setup); err != nil {
		a.still = true
		return a.screen(screens.SpotHousehold, screens.Return(a.t, a.returnView(setup, a.words(err))))
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Members.Returned}
}

// askSignedOff says why this phone may not write any more, to somebody who has opened an
// invitation to its household. A phone that has just been opened has to ask the server.
func (a *App) askSignedOff(ctx context.Context, invitation string) *fault.Fault {
	inv, err := replica.ParseInvitation(invitation)
	if err != nil || inv.Household != a.house.Household() {
		return nil
	}
	if a.signedOff() == nil {
		_ = a.house.Sync(ctx, a.server) // what went wrong is what is asked for
	}
	return a.signedOff()
}

// notices are what a person should know about this phone and the household.
func (a *App) notices() []screens.Notice {
	t, s := a.t.Members, a.house.Status()
	var out []screens.Notice
	if why := a.signedOff(); why != nil {
		n := screens.Notice{Title: t.OutTitle, Words: []string{why.Words}, Route: screens.RouteRejoin, Label: t.OutDo}
		if a.unknownThere() {
			n.Words = t.OutUnknown
		}
		out = append(out, n)
	}
	if m := s.Moved; m != nil {
		n := screens.Notice{Title: t.MovedCopy, Words: []string{t.MovedCopyWords(a.phoneName())}, Read: screens.ActMoveRead}
		if m.Why.Code == oplog.ErrRevoked.Code {
			n.Title, n.Words = t.MovedBack, nil
		}
		if m.Carried > 0 {
			n.Words = append(n.Words, t.Carried(m.Carried))
		}
		if m.Left > 0 {
			n.Words = append(n.Words, t.LeftBehind(m.Left))
		}
		out = append(out, n)
	}
	if s.Restored {
		out = append(out, screens.Notice{Title: t.RestoredTitle, Words: []string{t.Restored}, Read: screens.ActRestoredRead})
	}
	if s.Unread != nil {
		out = append(out, screens.Notice{Title: t.UnreadTitle, Words: []string{s.Unread.Words}})
	}
	if n := len(a.house.SetAside()); n > 0 {
		out = append(out, screens.Notice{Title: t.AsideCount(n), Route: screens.RouteAside, Label: t.AsideLook})
	}
	return out
}

// toRead counts what there is to read on the household's screen, without what takes long
// to find out: it stands on every screen.
func (a *App) toRead() int {
	s, n := a.house.Status(), len(a.heldPhotos())
	for _, there := range []bool{s.Moved != nil, s.Restored, s.Unread != nil, a.signedOff() != nil} {
		if there {
			n++
		}
	}
	return n
}

func (a *App) moveRead(ctx context.Context, _ Event) Answer {
	return a.afterReading(ctx, a.house.ForgetMove(ctx))
}

func (a *App) restoredRead(ctx context.Context, _ Event) Answer {
	return a.afterReading(ctx, a.house.ForgetRestored(ctx))
}

// afterReading shows the screen without the notice that was read.
func (a *App) afterReading(ctx context.Context, err error) Answer {
	if err != nil {
		return Answer{Say: a.words(err)}
	}
	return a.Go(ctx, a.route)
}

func (a *App) asideRows() []screens.AsideRow {
	aside, decide := a.house.SetAside(), a.mayChange()
	var out []screens.AsideRow
	a.house.Read(func(b *model.Book) {
		for _, x := range aside {
			at := model.Instant(x.Stamp.Millis())
			out = append(out, screens.AsideRow{ID: factText(x.ID), Title: a.asideTitle(b, x), Why: a.words(x.Why),
				By: a.t.Conflict.By(a.author(b, x.ID.Device), a.dayOf(at), a.clock(at)), Again: decide && writable(x)})
		}
	})
	return out
}

// writable reports whether an entry can be written again. A change of members is made
// anew where members are changed.
func writable(x merge.Aside) bool {
	switch x.Body.(type) {
	case *model.Fact, *oplog.Set:
		return true
	}
	return false
}

// asideTitle says in few words what an entry is about.
func (a *App) asideTitle(b *model.Book, x merge.Aside) string {
	switch body := x.Body.(type) {
	case *model.Fact:
		title := a.t.Members.OtherEntry
		if e := a.entry(b, body, nil); e != nil {
			title = e.Title
		}
		var plants []model.PlantID
		switch f := body.Body.(type) {
		case *model.Inspection:
			plants = []model.PlantID{f.Plant}
		case *model.Application:
			plants = f.Plants
		case *model.Handling:
			plants = f.Plants
		}
		return a.t.Common.Dotted(a.list(a.plantNames(b, plants)), title)
	case *oplog.Set:
		return a.t.Members.Edited(a.recordName(b, body.Record), a.settings(body))
	}
	return a.t.Members.MemberChange
}

// settings names the fields that an operation sets.
func (a *App) settings(s *oplog.Set) string {
	var edits []merge.Edit
	for _, f := range s.Fields {
		edits = append(edits, merge.Edit{Key: f.Key})
	}
	return a.edited(merge.Removal{Record: s.Record, Beside: edits})
}

func (a *App) writeAgain(ctx context.Context, e Event) Answer {
	fact, ok := parseFact(e.Data.Get("fact"))
	if !ok {
		return Answer{}
	}
	if err := a.house.WriteAgain(ctx, fact); err != nil {
		return Answer{Say: a.words(err)}
	}
	a.derived = derived{}
	answer := a.Go(ctx, a.route)
	answer.Say = a.t.Members.Written
	return answer
}

// rejoin brings this phone back by a new invitation.
func (a *App) rejoin(ctx context.Context, e Event) Answer {
	why := a.signedOff()
	if why == nil {
		return Answer{Go: screens.RouteHousehold}
	}
	_, text, _ := strings.Cut(e.Data.Get("link"), screens.RouteJoin)
	inv, err := replica.ParseInvitation(text)
	if err == nil {
		err = a.joinAgain(ctx, inv)
	}
	if err != nil {
		a.still = true
		return a.screen(screens.SpotHousehold, screens.Rejoin(a.t, screens.RejoinView{Invitation: text, Why: why.Words, Problem: a.words(err)}))
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Members.Rejoined}
}

// joinAgain takes up an invitation, under the names that this phone and its member had.
func (a *App) joinAgain(ctx context.Context, inv replica.Invitation) error {
	if err := a.house.Rejoin(ctx, a.server, inv); err != nil {
		return err
	}
	a.derived = derived{}
	return a.house.Sync(ctx, a.server)
}

// phoneName is what this phone is called in the household.
func (a *App) phoneName() (name string) {
	device := a.house.Device()
	a.house.Read(func(b *model.Book) { name = a.deviceName(b, device) })
	return name
}

// deviceName is what a phone is called, in words if its name has not arrived yet.
func (a *App) deviceName(b *model.Book, d model.DeviceID) string {
	if x := b.Devices[d]; x != nil && x.Name != "" {
		return x.Name
	}
	return a.t.Members.Unnamed
}

// saveFile writes all entries to a file for another phone.
func (a *App) saveFile(ctx context.Context, _ Event) Answer {
	var file bytes.Buffer
	if err := a.house.HandOver(ctx, &file); err != nil {
		return Answer{Say: a.words(err)}
	}
	return Answer{Save: &Download{Name: "leafturn-" + a.today().String() + ".handover", Type: "application/octet-stream", Bytes: file.Bytes()}}
}

// takeFile takes in a file that another phone wrote.
func (a *App) takeFile(ctx context.Context, e Event) Answer {
	a.still = true
	if len(e.Files) == 0 {
		return a.screen(screens.SpotHousehold, screens.HandOver(a.t, screens.HandOverView{Problem: a.t.Members.NoFile}))
	}
	before := entries(a.house.Vector())
	refused, err := a.house.TakeOver(ctx, bytes.NewReader(e.Files[0].Bytes))
	a.derived = derived{}
	a.syncs.seen = others(a.house)
	v := screens.HandOverView{Done: a.t.Members.Took(int(entries(a.house.Vector()) - before))}
	if len(refused) > 0 {
		v.Problem = a.t.Members.Refused(len(refused)) + " " + refused[0].Words
	}
	if err != nil {
		v.Problem = a.words(err)
		if errors.Is(err, oplog.ErrVersion) || entries(a.house.Vector()) == before {
			v.Done = ""
		}
	}
	return a.screen(screens.SpotHousehold, screens.HandOver(a.t, v))
}

// entries is how many entries a vector counts.
func entries(v oplog.Vector) uint64 {
	n := uint64(0)
	for _, d := range v.Devices() {
		n += v[d]
	}
	return n
}
