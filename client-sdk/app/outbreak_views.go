package app

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/plan"
)

func (a *App) showOutbreaks(context.Context, string) Answer {
	var v screens.OutbreaksView
	v.Sample = a.house.Local()
	a.house.Read(func(b *model.Book) {
		for _, o := range openOutbreaks(b) {
			v.Open = append(v.Open, a.outbreakRow(b, o))
		}
		for _, o := range ended(b) {
			v.Ended = append(v.Ended, a.outbreakRow(b, o))
		}
	})
	return a.screen(screens.SpotOutbreaks, screens.Outbreaks(a.t, v))
}

func ended(b *model.Book) []*model.Outbreak {
	var out []*model.Outbreak
	for _, o := range b.Outbreaks {
		if o.Closed != 0 {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, newestOutbreak)
	return out
}

func (a *App) outbreakRow(b *model.Book, o *model.Outbreak) screens.OutbreakRow {
	row := screens.OutbreakRow{ID: o.ID.String(), Name: a.outbreakName(o), Since: a.t.Outbreak.Since(a.day(o.Opened)), Plants: len(affected(b, o))}
	if o.Closed != 0 {
		row.Next = a.t.Outbreak.Closed(a.day(o.Closed))
	} else {
		row.Next = a.nextStep(b, o.ID)
	}
	return row
}

func (a *App) showOutbreak(_ context.Context, rest string) Answer {
	text, sub := cutRoute(rest)
	outbreak, err := model.ParseID[model.Outbreak](text)
	if err != nil {
		return Answer{}
	}
	switch {
	case !a.mayChange():
		// A guest decides on no plan and sees the outbreak itself.
	case sub == "course":
		return a.showCourse(outbreak)
	case sub == "plans":
		return a.showPlans(outbreak)
	}
	var v *screens.OutbreakView
	var work Work
	a.house.Read(func(b *model.Book) {
		o := b.Outbreaks[outbreak]
		if o == nil {
			return
		}
		v = a.outbreakView(b, o)
		var x *ahead
		if x, work = a.lookAhead(b, o); x != nil {
			v.Plans = true
			v.Forecast, v.Clear, v.Proposal = &x.view, x.clear, x.proposal
			if v.Guest {
				v.Plans, v.Proposal = false, nil
			}
			v.Trace = a.traceView(b, &x.in, x.window)
		}
	})
	if v == nil {
		return Answer{}
	}
	answer := a.screen(screens.SpotOutbreaks, screens.Outbreak(a.t, *v))
	answer.Work = work
	return answer
}

func (a *App) outbreakView(b *model.Book, o *model.Outbreak) *screens.OutbreakView {
	v := &screens.OutbreakView{ID: o.ID.String(), Name: a.outbreakName(o), Pest: o.Pest, Since: a.t.Outbreak.Since(a.day(o.Opened)), CanClose: o.Closed == 0, Guest: a.isGuest(b)}
	if o.Closed != 0 {
		v.Ended = a.t.Outbreak.Closed(a.day(o.Closed))
	}
	all := a.standings(b)
	var facts []*model.Fact
	for _, p := range affected(b, o) {
		v.Plants = append(v.Plants, a.plantRow(b, p, all[p.ID]))
		facts = append(facts, b.PlantFacts(p.ID)...)
	}
	since := o.Opened.Start(a.zone)
	v.Findings = a.timeline(b, facts, func(f *model.Fact) bool {
		look, ok := f.Body.(*model.Inspection)
		return ok && f.At >= since && (look.Found() || !look.Round.IsZero())
	})
	v.Applications = a.timeline(b, b.Facts(), func(f *model.Fact) bool {
		x, ok := f.Body.(*model.Application)
		return ok && x.Outbreak == o.ID
	})
	v.Course = a.courseOf(b, o)
	return v
}

// courseOf tells the ruling plan as a calendar: what was done, what is due, what
// comes after it.
func (a *App) courseOf(b *model.Book, o *model.Outbreak) *screens.CourseView {
	plans := b.Plans(o.ID)
	if len(plans) == 0 {
		return nil
	}
	accepted := plans[len(plans)-1]
	ruling := accepted.Body.(*model.PlanAccepted)
	v := &screens.CourseView{
		Summary: a.courseSummary(b, ruling),
		Basis:   a.planBasis(ruling),
		By:      a.t.Course.AcceptedBy(a.who(b, accepted.By), a.dayOf(accepted.At)),
	}
	var days []dated
	for _, t := range a.agenda(b).Open() {
		if t.Plan != nil && t.Plan.Plan == ruling.Plan {
			days = append(days, dated{t.When(), kindOf(t.Step), a.courseDay(b, t)})
		}
	}
	days = append(days, a.doneDays(b, ruling)...)
	slices.SortStableFunc(days, func(x, y dated) int { return cmp.Compare(x.day, y.day) })
	v.Days = a.together(days)
	return v
}

// planBasis is what a plan rests on, in words.
func (a *App) planBasis(p *model.PlanAccepted) string {
	if p.Basis != model.Computed {
		return a.t.Agenda.Practice
	}
	percent := func(perMille int) string { return a.t.Ahead.Percent(float64(perMille) / 1000) }
	return a.t.Plans.Summary(a.planTitle(plan.Goal(p.Aim)), percent(p.Chance), percent(p.Target))
}

func (a *App) planTitle(g plan.Goal) string {
	switch g {
	case plan.FewestSprays:
		return a.t.Plans.Fewest
	case plan.SoonestOver:
		return a.t.Plans.Soonest
	}
	return a.t.Plans.NoChem
}

// dated is a line of a calendar on its day; kind is 0 if it is no step of a plan.
type dated struct {
	day  model.Date
	kind model.StepKind
	screens.CourseDay
}

// together puts a rinse and the spray of the same day into one line.
func (a *App) together(days []dated) []screens.CourseDay {
	var out []screens.CourseDay
	for i := range days {
		d := days[i]
		if d.byHand() && beside(days, i, (*dated).sprays) >= 0 {
			continue // told with its spray
		}
		if k := beside(days, i, (*dated).byHand); d.sprays() && k >= 0 {
			d.What = a.t.Plans.Both(days[k].kind, d.What)
			if first := days[k].Why; !strings.Contains(d.Why, first) {
				d.Why = strings.TrimSpace(first + " " + d.Why)
			}
		}
		out = append(out, d.CourseDay)
	}
	return out
}

func (d *dated) byHand() bool { return d.kind == model.StepRinse || d.kind == model.StepWipe }
func (d *dated) sprays() bool { return d.kind == model.StepSpray }

// beside finds a line of some kind that stands exactly as another one does, -1 if there
// is none.
func beside(days []dated, i int, some func(*dated) bool) int {
	d := &days[i]
	return slices.IndexFunc(days, func(x dated) bool {
		return some(&x) && x.day == d.day && x.State == d.State && x.Words == d.Words
	})
}

// kindOf is what a step is, 0 for none.
func kindOf(s *model.PlanStep) model.StepKind {
	if s == nil {
		return 0
	}
	return s.Kind
}

func (a *App) courseDay(b *model.Book, t *agenda.Task) screens.CourseDay {
	d := screens.CourseDay{Date: a.t.Format.Day(t.When()), What: a.stepWords(b, t.Step, len(t.Plants), a.taskAction(b, t)), Kind: taskKinds[t.Key.Rule]}
	d.State, d.Words = a.dueState(t)
	if d.State == texts.Later {
		d.Words = a.t.Words.DueState[texts.Later]
	}
	if t.Step != nil && len(t.Step.Why) > 0 && t.Step.Day == t.When() {
		d.Why = a.whySteps(b, t.Step)
	} else if why := a.whyWords(b, t); len(why) > 0 {
		d.Why = why[len(why)-1]
	}
	return d
}

// stepWords says what a step is; other is for tasks that are no step of a plan.
func (a *App) stepWords(b *model.Book, s *model.PlanStep, plants int, other string) string {
	if s == nil {
		return other
	}
	return a.t.Plans.Step(s.Kind, plants, productName(b, s.Product))
}

// doneDays are the steps of a plan that were done, whenever that was.
func (a *App) doneDays(b *model.Book, accepted *model.PlanAccepted) []dated {
	seen := map[model.TaskKey]bool{}
	var out []dated
	for _, f := range byTimeSeen(b.Facts()) {
		key, plants := completedBy(f)
		if key.Subject != accepted.Plan.UUID() || !b.Stands(f.ID) || seen[key] {
			continue
		}
		seen[key] = true
		if plants == 0 {
			plants = len(accepted.Plants)
		}
		day, alone := f.At.Date(a.zone), a.t.Agenda.Apart(plants)
		if agenda.Prunes(key) {
			alone = a.t.Tasks.Prune(plants)
		}
		step := accepted.Step(key)
		out = append(out, dated{day, kindOf(step), screens.CourseDay{Date: a.t.Format.Day(day), What: a.stepWords(b, step, plants, alone),
			Kind: taskKinds[key.Rule], State: texts.Done, Words: a.who(b, f.By)}})
	}
	return out
}

// completedBy is the task that a fact completes, and on how many plants.
func completedBy(f *model.Fact) (model.TaskKey, int) {
	switch x := f.Body.(type) {
	case *model.Inspection:
		return x.Completes, 0
	case *model.Application:
		return x.Completes, len(x.Plants)
	case *model.Handling:
		return x.Completes, len(x.Plants)
	case *model.TaskCompleted:
		return x.Task, 0
	}
	return model.TaskKey{}, 0
}
