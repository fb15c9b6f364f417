package agenda_test

import (
	"cmp"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/agenda"
)

// Two members live with one household, each with a phone that does not hear of the
// other's for days. What they do is drawn: they complete tasks of every kind, take them
// on, put them off, accept plans and change them, withdraw what they wrote; plants come in,
// cards are hung, it gets warm. The laws hold whatever they do:
//
//  5. What is open is what a plain reading of the facts says, and its number is one more
//     than the highest that was completed.
//  6. Who knows the same facts sees the same, and nothing was lost on the way: a task that
//     was open for somebody is open, or done, or its plan does not rule any more.
//  7. Another zone moves dates, and no identity.

// life is a household in which two phones write for themselves.
type life struct {
	t      *rapid.T
	phones [2]*house
	who    [2]model.MemberID
	today  int // days after monday
}

// starts are days around which clocks change, or which are rare.
var starts = []string{"2025-06-02", "2024-02-27", "2025-03-28", "2025-10-24", "2024-12-30"}

func newLife(t *rapid.T, tb testing.TB) *life {
	zone := rapid.SampledFrom([]string{"UTC", "Europe/Berlin", "America/New_York", "Pacific/Auckland"}).Draw(t, "zone")
	l := &life{t: t, who: [2]model.MemberID{ada, bo}}
	one := newHouse(tb, zone)
	one.Outbreaks[second] = &model.Outbreak{ID: second, Pest: model.PestSpiderMite, Opened: monday, Affects: map[model.PlantID]bool{orchid: true}}
	other := *one
	other.Book = model.NewBook(one.Household.ID)
	other.Places, other.Plants, other.Products, other.Outbreaks = one.Places, one.Plants, one.Products, one.Outbreaks
	l.phones = [2]*house{one, &other}
	day, err := model.ParseDate(rapid.SampledFrom(starts).Draw(t, "start"))
	require.NoError(t, err)
	l.today = day.Sub(monday)
	return l
}

// write lets a member write a fact, of something done a little while ago.
func (l *life) write(n int, body model.Body) {
	h := l.phones[n]
	h.seq++
	hours := rapid.IntRange(-20, 10).Draw(l.t, "hour")
	h.Add(&model.Fact{ID: model.FactID{Device: model.DeviceID(l.who[n]), Seq: h.seq}, Stamp: uint64(l.today)<<20 + h.seq,
		At: h.at(l.today) + model.Instant(hours)*3600_000, By: l.who[n], Body: body})
}

// hear lets a member's phone hear of some or all of what the other wrote.
func (l *life) hear(n int, all bool) {
	for _, f := range l.phones[1-n].Facts() {
		if all || rapid.Bool().Draw(l.t, "arrives") {
			l.phones[n].Add(f)
		}
	}
}

// act draws something that a member does by what is on the member's own phone.
func (l *life) act(n int) {
	h := l.phones[n]
	a := h.agenda(l.today)
	open := a.Open()
	switch what := rapid.IntRange(0, 15).Draw(l.t, "act"); {
	case what == 0:
		l.write(n, anyPlan(l.t, l.today))
	case what == 1 && h.Len() > 0:
		l.write(n, &model.Withdrawn{Fact: rapid.SampledFrom(h.Facts()).Draw(l.t, "target").ID})
	case what == 2:
		l.write(n, anyCircumstance(l.t))
	case what == 3:
		l.record(rapid.IntRange(0, 4).Draw(l.t, "record"))
	case len(open) == 0:
	case what < 6:
		l.write(n, &model.TaskClaimed{Task: rapid.SampledFrom(open).Draw(l.t, "task").Key, Until: h.at(l.today + 1)})
	case what < 8:
		l.write(n, &model.TaskPutOff{Task: rapid.SampledFrom(open).Draw(l.t, "task").Key, Until: monday.Add(l.today + 2), Reason: model.NoTime})
	default:
		l.write(n, deed(l.t, rapid.SampledFrom(open).Draw(l.t, "task")))
	}
}

// record changes something that both phones hear of at once.
func (l *life) record(what int) {
	h := l.phones[0]
	switch what {
	case 0:
		h.Places[sill].Card = rapid.SampledFrom([]model.CardColour{model.NoCard, model.YellowCard}).Draw(l.t, "card")
	case 1:
		h.Products[soap].StockMilli = rapid.IntRange(0, 20_000).Draw(l.t, "stock")
	case 2:
		h.Products[soap].MinInterval = rapid.IntRange(0, 9).Draw(l.t, "interval")
	case 3:
		h.Outbreaks[second].Closed = rapid.SampledFrom([]model.Date{0, monday.Add(l.today)}).Draw(l.t, "closed")
	case 4:
		h.Places[sill].RoundEvery = rapid.SampledFrom([]int{7, 14}).Draw(l.t, "rhythm")
	}
}

// deed is how a task is done, as a phone writes it.
func deed(t *rapid.T, task *agenda.Task) model.Body {
	if rapid.IntRange(0, 4).Draw(t, "ticked off") == 0 {
		return &model.TaskCompleted{Task: task.Key}
	}
	switch {
	case task.Step != nil && task.Step.Applies():
		return &model.Application{Plants: task.Plants, Product: task.Product, Outbreak: task.Outbreak, Completes: task.Key}
	case task.Handling() != 0:
		return &model.Handling{Kind: task.Handling(), Plants: task.Plants, Completes: task.Key}
	case task.Key.Rule == model.RuleCardRead, task.Key.Rule == model.RuleCardNew:
		return &model.CardReading{Place: model.PlaceID(task.Key.Subject), Colour: model.YellowCard, Counted: -1, Replaced: task.Key.Rule == model.RuleCardNew, Completes: task.Key}
	case task.Key.Rule == model.RuleMeasure:
		return &model.Measurement{Plant: task.Plants[0], Photo: model.PhotoSum{1}, Method: 1, Completes: task.Key}
	case len(task.Plants) > 0:
		return &model.Inspection{Plant: task.Plants[0], Round: task.Key, Completes: task.Key}
	}
	return &model.TaskCompleted{Task: task.Key}
}

// anyPlan is a plan with steps of all kinds, a new one or a change of an old one.
func anyPlan(t *rapid.T, today int) *model.PlanAccepted {
	p := &model.PlanAccepted{Plan: rapid.SampledFrom([]model.PlanID{planA, planB, {0xc}}).Draw(t, "plan"), Outbreak: thrips,
		Plants: []model.PlantID{fern1, fern2}, Basis: model.CommonPractice, Isolate: rapid.Bool().Draw(t, "isolate")}
	if p.Plan == planB {
		p.Outbreak, p.Plants = second, []model.PlantID{orchid}
	}
	day := monday.Add(today)
	for range rapid.IntRange(1, 7).Draw(t, "steps") {
		s := model.PlanStep{Kind: model.StepKind(rapid.IntRange(int(model.StepSpray), int(model.StepLook)).Draw(t, "kind")), Day: day}
		if s.Applies() || s.Kind == model.StepTryLeaf {
			s.Product = rapid.SampledFrom([]model.ProductID{soap, oil}).Draw(t, "product")
		}
		p.Steps = append(p.Steps, s)
		day = day.Add(rapid.IntRange(0, 6).Draw(t, "days"))
	}
	return p
}

// anyCircumstance is something that no task asked for and that moves dates.
func anyCircumstance(t *rapid.T) model.Body {
	plants := rapid.SliceOfNDistinct(rapid.SampledFrom(allPlants), 1, 3, rapid.ID).Draw(t, "plants")
	place := rapid.SampledFrom([]model.PlaceID{sill, bath}).Draw(t, "place")
	switch rapid.IntRange(0, 5).Draw(t, "circumstance") {
	case 0:
		return &model.Temperature{Place: place, Coldest: 180, Warmest: rapid.IntRange(200, 330).Draw(t, "warm")}
	case 1:
		return &model.Handling{Kind: model.CutCameIn, Place: place}
	case 2:
		return &model.Measurement{Plant: plants[0], Photo: model.PhotoSum{2}, Method: 1}
	case 3:
		return &model.Application{Plants: plants, Product: soap}
	case 4:
		return &model.Inspection{Plant: plants[0], Damage: uint8(rapid.IntRange(0, 5).Draw(t, "damage"))}
	}
	kind := rapid.SampledFrom([]model.HandlingKind{model.CameIn, model.WentOut, model.BackIn, model.Isolated, model.Released, model.Watered, model.Repotted, model.Pruned}).Draw(t, "kind")
	return &model.Handling{Kind: kind, Plants: plants}
}

// live draws some days of both, with the phones out of touch for some of them.
func live(t *rapid.T, tb testing.TB, each func(l *life)) *life {
	l := newLife(t, tb)
	for range rapid.IntRange(1, 12).Draw(t, "days") {
		for n := range l.phones {
			for range rapid.IntRange(0, 3).Draw(t, "acts") {
				l.act(n)
			}
			if rapid.Bool().Draw(t, "online") {
				l.hear(n, rapid.Bool().Draw(t, "all of it"))
			}
		}
		each(l)
		l.today += rapid.IntRange(0, 9).Draw(t, "days go by")
	}
	return l
}

// completed is what the facts that stand say to be done: the highest number of each rule
// and subject.
func (h *house) completed() map[model.TaskKey]uint32 {
	highest := map[model.TaskKey]uint32{}
	for _, f := range h.Facts() {
		if k := completes(f.Body); h.Stands(f.ID) && !k.IsZero() {
			row := model.TaskKey{Rule: k.Rule, Subject: k.Subject}
			highest[row] = max(highest[row], k.Ordinal)
		}
	}
	return highest
}

// ruling is the plan of an outbreak that was accepted last, nil if none was or it is closed.
func (h *house) ruling(o model.OutbreakID) *model.PlanAccepted {
	var last *model.Fact
	for _, f := range h.Facts() {
		p, ok := f.Body.(*model.PlanAccepted)
		if ok && p.Outbreak == o && h.Stands(f.ID) && (last == nil || model.CompareFacts(last, f) < 0) {
			last = f
		}
	}
	if last == nil || h.Outbreaks[o].Closed != 0 {
		return nil
	}
	return last.Body.(*model.PlanAccepted)
}

// mustBeOpen are the rounds, the cards and the steps that a plain reading of the facts
// finds open.
func (h *house) mustBeOpen() []model.TaskKey {
	highest := h.completed()
	next := func(r model.Rule, p model.PlaceID) model.TaskKey {
		return key(r, p.UUID(), highest[model.TaskKey{Rule: r, Subject: p.UUID()}]+1)
	}
	all := []model.TaskKey{next(model.RuleRound, sill), next(model.RuleRound, bath)}
	if h.Places[sill].Card != model.NoCard {
		all = append(all, next(model.RuleCardRead, sill))
	}
	for _, o := range []model.OutbreakID{thrips, second} {
		if p := h.ruling(o); p != nil {
			all = append(all, stepsLeft(h, p)...)
		}
	}
	return sorted(all)
}

// stepsLeft are the steps of a plan that come after the last one of their rule that was
// done. What was completed beyond the plan's own steps says nothing about them.
func stepsLeft(h *house, p *model.PlanAccepted) (left []model.TaskKey) {
	own := p.TaskKeys()
	highest := map[model.Rule]uint32{}
	for _, f := range h.Facts() {
		if k := completes(f.Body); h.Stands(f.ID) && slices.Contains(own, k) {
			highest[k.Rule] = max(highest[k.Rule], k.Ordinal)
		}
	}
	for _, k := range own {
		if k.Ordinal > highest[k.Rule] {
			left = append(left, k)
		}
	}
	return left
}

func sorted(keys []model.TaskKey) []model.TaskKey {
	slices.SortFunc(keys, func(a, b model.TaskKey) int {
		return cmp.Or(cmp.Compare(a.Rule, b.Rule), slices.Compare(a.Subject[:], b.Subject[:]), cmp.Compare(a.Ordinal, b.Ordinal))
	})
	return keys
}

// certain are the open tasks that mustBeOpen speaks of.
func certain(a *agenda.Agenda) []model.TaskKey {
	return sorted(slices.DeleteFunc(keys(a.Open()), func(k model.TaskKey) bool {
		switch k.Rule {
		case model.RuleIsolate, model.RuleCardNew, model.RuleQuarantine, model.RuleMaintain, model.RuleBuy, model.RuleMeasure:
			return true
		}
		return agenda.Prunes(k)
	}))
}

func TestWhatIsOpenIsWhatTheFactsSay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		live(rt, t, func(l *life) {
			for _, h := range l.phones {
				a := h.agenda(l.today)
				require.Equal(rt, h.mustBeOpen(), certain(a))
				highest := h.completed()
				for _, task := range a.Open() {
					require.Equal(rt, task.Key.ID(h.Household.ID), task.ID)
					if !ofPlan(task.Key.Rule) {
						require.Equal(rt, highest[model.TaskKey{Rule: task.Key.Rule, Subject: task.Key.Subject}]+1, task.Key.Ordinal)
					}
				}
			}
		})
	})
}

func ofPlan(r model.Rule) bool {
	return slices.Contains([]model.Rule{model.RuleSpray, model.RuleSoil, model.RuleWash, model.RuleTryLeaf, model.RuleCheck, model.RuleIsolate}, r)
}

func TestMeetingLosesAndRenamesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := live(rt, t, func(*life) {})
		before := [2]*agenda.Agenda{l.phones[0].agenda(l.today), l.phones[1].agenda(l.today)}
		l.hear(0, true)
		l.hear(1, true)
		after := l.phones[0].agenda(l.today)
		require.Equal(rt, after, l.phones[1].agenda(l.today), "who knows the same sees the same")
		open, must := keys(after.Open()), l.phones[0].mustBeOpen()
		for _, k := range slices.Concat(certain(before[0]), certain(before[1])) {
			require.True(rt, slices.Contains(open, k) || l.phones[0].over(k), "%v is lost", k)
		}
		require.Equal(rt, must, certain(after))
		requireDoneOnce(rt, l.phones[0], after)
	})
}

// over reports whether a task is done, or an earlier one is open again because what
// completed it was withdrawn, or its plan does not rule any more.
func (h *house) over(k model.TaskKey) bool {
	highest := h.completed()[model.TaskKey{Rule: k.Rule, Subject: k.Subject}]
	if !ofPlan(k.Rule) {
		return highest+1 != k.Ordinal
	}
	for _, o := range []model.OutbreakID{thrips, second} {
		if p := h.ruling(o); p != nil && p.Plan.UUID() == k.Subject {
			return !slices.Contains(stepsLeft(h, p), k)
		}
	}
	return true
}

// requireDoneOnce demands that a task is done once, however many completed it, by the
// first of them, and that two applications for it are told.
func requireDoneOnce(t *rapid.T, h *house, a *agenda.Agenda) {
	seen := map[model.TaskID]bool{}
	for _, task := range slices.Concat(a.DoneToday, a.DoneLately) {
		require.False(t, seen[task.ID])
		seen[task.ID] = true
		apps := 0
		for _, f := range task.Done.All {
			require.Equal(t, task.Key, completes(f.Body))
			require.GreaterOrEqual(t, f.At, task.Done.First.At)
			if _, ok := f.Body.(*model.Application); ok {
				apps++
			}
		}
		flagged := slices.ContainsFunc(a.Flags, func(f agenda.Flag) bool { return f.Key == task.Key })
		require.Equal(t, apps > 1, flagged, "nobody settles in these lives")
	}
}

func TestAnotherZoneRenamesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		live(rt, t, func(l *life) {
			h := l.phones[0]
			now := h.at(l.today)
			zone, err := time.LoadLocation(rapid.SampledFrom([]string{"UTC", "Pacific/Auckland", "America/New_York", "Asia/Kathmandu"}).Draw(rt, "zone moved to"))
			require.NoError(rt, err)
			here, there := agenda.Derive(h.Book, now, h.zone), agenda.Derive(h.Book, now, zone)
			require.Equal(rt, certain(here), certain(there))
			for _, task := range there.Open() {
				if same := here.Task(task.ID); same != nil {
					require.Equal(rt, same.Key, task.Key)
				}
			}
		})
	})
}

// Two members accept a different plan each without hearing of each other. One rules by
// the order of writing, the other is shown as overruled, and what was done under it counts.
func TestOfTwoPlansOneRules(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := newLife(rt, t)
		plans := [2]*model.PlanAccepted{anyPlan(rt, l.today), anyPlan(rt, l.today)}
		for n, p := range plans {
			p.Plan, p.Outbreak, p.Plants = model.PlanID{0xd0 + byte(n)}, thrips, []model.PlantID{fern1, fern2}
			l.write(n, p)
			for range rapid.IntRange(0, 3).Draw(rt, "acts") {
				if open := l.phones[n].agenda(l.today).Open(); len(open) > 0 {
					l.write(n, deed(rt, rapid.SampledFrom(open).Draw(rt, "task")))
				}
			}
		}
		l.hear(0, true)
		l.hear(1, true)
		h := l.phones[0]
		a := h.agenda(l.today)
		require.Equal(rt, a, l.phones[1].agenda(l.today))
		require.Len(rt, a.Superseded, 1)
		rules, lost := a.Superseded[0].By.Body.(*model.PlanAccepted), a.Superseded[0].Accepted.Body.(*model.PlanAccepted)
		require.Equal(rt, h.ruling(thrips), rules)
		require.NotEqual(rt, rules.Plan, lost.Plan)
		for _, task := range a.Open() {
			require.NotEqual(rt, lost.Plan.UUID(), task.Key.Subject)
		}
		require.Equal(rt, h.mustBeOpen(), certain(a))
	})
}
