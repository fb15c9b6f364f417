package app

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strconv"
	"sync/atomic"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/evidence"
	"leafturn/model/population"
	"leafturn/model/refdata"
	"leafturn/sync/oplog"
)

// Work is a computation that takes its time. It may run beside the App, on another
// goroutine; what it gives must be run on the App's own, and gives the answer.
type Work func() func(ctx context.Context) Answer

// How a forecast is made. More runs make it steadier and slower.
const (
	aheadDays = 42
	runs      = 500
	// before is how long before the first finding the pest may have come in: about
	// two generations of the slowest common pest in a room. Our judgement.
	before = 42
	// seenShare is the share of a plant that one look covers when nobody says more.
	// Our judgement.
	seenShare = 0.25
)

// A room without a known temperature is taken as this, tenths of a degree Celsius.
const (
	usualColdest = 180
	usualWarmest = 230
)

// ahead is what lies ahead of one outbreak, worked out or being worked out.
type ahead struct {
	seen    oplog.Vector // what was known when it was worked out
	day     model.Date
	view    screens.ForecastView
	clear   *screens.ClearView
	working bool
	stop    *atomic.Bool
}

// history is an outbreak as the population model takes it: days count from start.
type history struct {
	outbreak model.OutbreakID
	species  refdata.Species
	plant    string
	place    string
	coldest  int
	warmest  int
	assumed  bool
	start    model.Date
	today    model.Date
	opened   int
	looks    []population.Look
	acts     []population.Act // done and planned
	marks    []screens.ForecastMark
	counted  []screens.ForecastPoint
	rests    []string
	counts   []evidence.Count
	treated  model.Date // the first treatment, 0 if there was none
	seed     uint64
}

// lookAhead gives what is known to lie ahead of an outbreak, and the work that
// brings it up to date if something has changed since.
func (a *App) lookAhead(b *model.Book, o *model.Outbreak, vector oplog.Vector) (*ahead, Work) {
	if a.aheads == nil {
		a.aheads = map[model.OutbreakID]*ahead{}
	}
	old := a.aheads[o.ID]
	if old != nil && (old.working || old.day == a.today() && old.seen.Equal(vector)) {
		return old, nil
	}
	in, ok := a.gather(b, o)
	if !ok {
		return nil, nil
	}
	now := &ahead{seen: vector, day: a.today(), working: true, stop: &atomic.Bool{}}
	now.view = screens.ForecastView{Outbreak: o.ID.String(), Today: a.today(), Progress: &screens.ProgressView{Done: 0, Of: 1}}
	if old != nil { // the last picture stays until the new one is ready
		now.view, now.clear = old.view, old.clear
	}
	a.aheads[o.ID] = now
	return now, func() func(context.Context) Answer {
		result, err := in.compute(func() bool {
			a.o.breathe()
			return now.stop.Load()
		})
		return func(ctx context.Context) Answer { return a.tookAhead(ctx, now, in, result, err) }
	}
}

// breathe lets others run during a long computation.
func (o *Options) breathe() {
	if o.Breathe != nil {
		o.Breathe()
	}
}

// gather collects what bears on an outbreak: the plant with most animals counted
// stands for it.
func (a *App) gather(b *model.Book, o *model.Outbreak) (history, bool) {
	species := refdata.Of(o.Pest)
	plants := affected(b, o)
	if len(species) == 0 || len(plants) == 0 || o.Closed != 0 {
		return history{}, false
	}
	worst := slices.MaxFunc(plants, func(x, y *model.Plant) int { return cmp.Compare(countedOn(b, x.ID), countedOn(b, y.ID)) })
	in := history{outbreak: o.ID, species: species[0], plant: worst.Name, today: a.today(), coldest: usualColdest, warmest: usualWarmest, assumed: true,
		seed: binary.BigEndian.Uint64(o.ID[8:])}
	if at := b.Places[worst.Place]; at != nil {
		in.place = at.Name
		if at.Coldest != 0 || at.Warmest != 0 {
			in.coldest, in.warmest, in.assumed = at.Coldest, at.Warmest, false
		}
	}
	first := o.Opened
	for _, f := range b.PlantFacts(worst.ID) {
		if look, ok := f.Body.(*model.Inspection); ok && look.Found() && b.Stands(f.ID) {
			first = min(first, f.At.Date(a.zone))
		}
	}
	if in.today.Sub(first) > population.MaxDays-before-aheadDays-1 {
		first = in.today.Add(-(population.MaxDays - before - aheadDays - 1))
	}
	in.start = first.Add(-before)
	in.opened = before
	a.gatherFacts(b, worst.ID, &in)
	a.gatherPlanned(b, o, &in)
	return in, true
}

// countedOn is how many animals were ever counted on a plant.
func countedOn(b *model.Book, plant model.PlantID) int {
	n := 0
	for _, f := range b.PlantFacts(plant) {
		if look, ok := f.Body.(*model.Inspection); ok && b.Stands(f.ID) {
			for _, x := range look.Findings {
				n += x.Counts.Total()
			}
		}
	}
	return n
}

func (a *App) gatherFacts(b *model.Book, plant model.PlantID, in *history) {
	facts := byTimeSeen(b.PlantFacts(plant))
	slices.Reverse(facts)
	for _, f := range facts {
		day := f.At.Date(a.zone)
		if !b.Stands(f.ID) || day < in.start || day > in.today {
			continue
		}
		n := day.Sub(in.start)
		switch x := f.Body.(type) {
		case *model.Inspection:
			look := lookOf(x, n)
			in.looks = append(in.looks, look)
			if !look.Uncounted && x.Found() {
				total := look.Counts[0] + look.Counts[1] + look.Counts[2] + look.Counts[3]
				in.counted = append(in.counted, screens.ForecastPoint{Date: day, Count: float64(total) / seenShare})
			}
			if !look.Uncounted {
				total := look.Counts[0] + look.Counts[1] + look.Counts[2] + look.Counts[3]
				in.counts = append(in.counts, evidence.Count{Day: day, Animals: total, Effort: 1})
			}
			in.rests = append(in.rests, a.t.Common.Dotted(a.t.Format.Day(day), a.who(b, f.By)))
		case *model.Application:
			means, active := model.MeansContactSpray, ""
			if p := b.Products[x.Product]; p != nil {
				means, active = p.Means, p.Active
			}
			if in.treated == 0 {
				in.treated = day
			}
			in.acts = append(in.acts, population.Act{Day: n, Means: means, Active: active, Parts: x.Parts})
			in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Story.Treated(productName(b, x.Product)), Kind: screens.TaskSpray, Done: true})
		case *model.Handling:
			if x.Kind == model.Rinsed || x.Kind == model.Wiped {
				in.acts = append(in.acts, population.Act{Day: n, Means: model.MeansWater})
				in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Words.Handling[x.Kind], Kind: screens.TaskByHand, Done: true})
			}
		}
	}
}

// lookOf is an inspection as evidence. Signs without a count say only that the pest
// is there; a look that found nothing says that nothing was seen anywhere.
func lookOf(x *model.Inspection, day int) population.Look {
	look := population.Look{Day: day, Way: refdata.Eye, Effort: seenShare}
	for _, f := range x.Findings {
		look.Parts = append(look.Parts, f.Part)
		for i, n := range f.Counts {
			look.Counts[i] += int(n)
		}
	}
	if x.Found() && look.Counts == (population.Animals{}) {
		look.Uncounted, look.Counts[model.Young] = true, 1
	}
	return look
}

// gatherPlanned adds the sprays that are still to come.
func (a *App) gatherPlanned(b *model.Book, o *model.Outbreak, in *history) {
	for _, t := range a.agenda(b).Open() {
		if t.Outbreak != o.ID || t.Key.Rule != model.RuleSpray {
			continue
		}
		day := max(t.When(), in.today)
		p := b.Products[t.Product]
		if p == nil || day.Sub(in.today) >= aheadDays {
			continue
		}
		in.acts = append(in.acts, population.Act{Day: day.Sub(in.start), Means: p.Means, Active: p.Active, Parts: []model.Part{model.Underside, model.TopSide, model.Stem}})
		in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.taskAction(b, t), Kind: screens.TaskSpray})
	}
}

// outlook is what the computation found.
type outlook struct {
	ahead *population.Outlook
	clear float64
	looks []cleanLook
}

// cleanLook is the chance after one more clean look on a day.
type cleanLook struct {
	day    model.Date
	chance float64
}

// compute lets many possible courses of the outbreak live from before it was found,
// keeps those that fit what was seen, and lets them live on.
func (in *history) compute(stop func() bool) (*outlook, error) {
	m, err := population.New(in.species)
	if err != nil {
		return nil, err
	}
	now := in.today.Sub(in.start)
	to := now + aheadDays
	days := make([]population.Day, to)
	for i := range days {
		days[i] = population.Day{Low: float64(in.coldest) / 10, High: float64(in.warmest) / 10}
	}
	climate, err := m.Climate(days)
	if err != nil {
		return nil, err
	}
	kills, err := m.Kills(to, in.acts)
	if err != nil {
		return nil, err
	}
	cloud, err := m.Begun(2*runs, in.seed, population.Beginning{From: 0, To: in.opened, Founders: 2})
	if err != nil {
		return nil, err
	}
	for _, look := range in.looks {
		if stop() {
			return nil, population.ErrStopped
		}
		if err := errors.Join(cloud.Live(climate, look.Day, kills, arrivals), take(cloud, look)); err != nil {
			return nil, err
		}
	}
	if err := cloud.Live(climate, now, kills, arrivals); err != nil {
		return nil, err
	}
	out := &outlook{clear: 1 - cloud.Present()}
	if out.ahead, err = population.Forecast(population.Plant{Cloud: cloud, Climate: climate, Kills: kills, Arrivals: arrivals}, to, runs, in.seed, stop); err != nil {
		return nil, err
	}
	return out, in.cleanLooks(cloud, climate, kills, stop, out)
}

// arrivals is how many adults come in from outside in a day: about one in three
// months. Our judgement.
const arrivals = 0.01

func take(c *population.Cloud, l population.Look) error {
	_, err := c.Take(l)
	return err
}

// target is the chance at which an outbreak counts as over.
const target = 0.95

// cleanLooks tells what the chance would be after one, two, three more looks that
// find nothing, a week apart and after the last treatment.
func (in *history) cleanLooks(c *population.Cloud, w *population.Climate, k *population.Kills, stop func() bool, out *outlook) error {
	const every, most = 7, 5
	c = c.Clone()
	for n := 1; n <= most && out.chance() < target; n++ {
		if stop() {
			return population.ErrStopped
		}
		day := c.Day() + every
		if day >= w.Len() {
			return nil
		}
		if err := errors.Join(c.Live(w, day, k, 0), take(c, population.Look{Day: day, Way: refdata.Eye, Effort: seenShare})); err != nil {
			return err
		}
		out.looks = append(out.looks, cleanLook{day: in.start.Add(day), chance: 1 - c.Present()})
	}
	return nil
}

// chance is the chance of being over after all looks so far and proposed.
func (o *outlook) chance() float64 {
	if n := len(o.looks); n > 0 {
		return o.looks[n-1].chance
	}
	return o.clear
}

// tookAhead puts what was worked out on the page.
func (a *App) tookAhead(ctx context.Context, x *ahead, in history, out *outlook, err error) Answer {
	x.working = false
	x.view.Progress = nil
	switch {
	case errors.Is(err, population.ErrStopped):
		x.view.Stopped = true
	case err != nil:
		x.view.Problem = a.words(err)
	default:
		x.view, x.clear = a.forecastView(in, out), a.clearView(in, out)
	}
	if a.route != screens.OutbreakRoute(in.outbreak.String()) {
		return Answer{}
	}
	answer := a.Go(ctx, a.route)
	answer.Top, answer.Focus, answer.Go = false, "", ""
	return answer
}

func (a *App) forecastView(in history, out *outlook) screens.ForecastView {
	t := a.t.Forecast
	v := screens.ForecastView{Outbreak: in.outbreak.String(), Unit: t.Unit(in.plant), Today: in.today, Marks: in.marks, Counted: in.counted,
		Basis: a.t.Ahead.Repeat(runs, strconv.FormatUint(in.seed, 10))}
	low, high := a.t.Ahead.Celsius(in.coldest), a.t.Ahead.Celsius(in.warmest)
	warmth := t.Warmth
	if in.assumed {
		warmth = t.NoWarmth
	}
	v.Assumptions = []string{warmth(in.place, low, high), t.Host, t.Coverage, t.Arrivals}
	peak := 0
	for i, dawn := range out.ahead.Dawns {
		v.Days = append(v.Days, shared(in.start.Add(out.ahead.From+i), dawn))
		if dawn.Bands[population.All].Middle > out.ahead.Dawns[peak].Bands[population.All].Middle {
			peak = i
		}
	}
	number := func(n int) string { return a.t.Ahead.Number(float64(n)) }
	last := out.ahead.Dawns[len(out.ahead.Dawns)-1].Bands[population.All]
	most := out.ahead.Dawns[peak].Bands[population.All]
	if peak == 0 {
		v.Summary = t.Falling(a.t.Format.Day(v.Days[len(v.Days)-1].Date), number(last.Low), number(last.High))
	} else {
		v.Summary = t.Course(a.t.Format.Day(v.Days[peak].Date), number(most.Middle), number(most.Low), number(most.High))
	}
	return v
}

// shared shares the middle total out among the stages in proportion to their own
// middles, so that the four add up to it.
func shared(day model.Date, d population.Dawn) screens.ForecastDay {
	all := d.Bands[population.All]
	out := screens.ForecastDay{Date: day, Low: float64(all.Low), High: float64(all.High)}
	sum := 0
	for s := range 4 {
		sum += d.Bands[s].Middle
	}
	for s := range 4 {
		if sum > 0 {
			out.Stage[s] = float64(all.Middle) * float64(d.Bands[s].Middle) / float64(sum)
		} else {
			out.Stage[model.Young] = float64(all.Middle)
		}
	}
	return out
}

func (a *App) clearView(in history, out *outlook) *screens.ClearView {
	v := &screens.ClearView{Chance: out.clear, Target: target, RestsOn: in.rests, Notes: []string{a.t.Clear.Honest, a.t.Clear.SamePerson}, Trend: a.trendView(in)}
	if out.chance() < target {
		return v // looking alone will not get there: it is not over
	}
	for _, l := range out.looks {
		v.Looks = append(v.Looks, screens.ClearLook{Date: a.t.Format.Day(l.day), Then: l.chance})
	}
	return v
}

// trendLevel is how sure the interval of a change is.
const trendLevel = 0.8

// trendView is how the counts changed since the first treatment, nil if there is
// nothing to compare.
func (a *App) trendView(in history) *screens.TrendView {
	if in.treated == 0 {
		return nil
	}
	var before, after []evidence.Count
	for _, c := range in.counts {
		if c.Day <= in.treated { // a look on the day of the spray comes before it
			before = append(before, c)
		} else {
			after = append(after, c)
		}
	}
	change, err := evidence.ChangeSince(before, after, trendLevel)
	if err != nil {
		return nil // too few counts, or none before: then there is no change to speak of
	}
	t := a.t.Clear
	v := &screens.TrendView{Since: t.TrendSince(a.t.Format.Day(in.treated)), Factor: change.Factor, Low: change.Interval.Lower, High: change.Interval.Upper}
	share := func(x float64) string { return strconv.FormatFloat(math.Round(100*x), 'f', 0, 64) + "%" }
	percent := func(factor float64) string { return share(math.Abs(factor - 1)) }
	switch change.Direction() {
	case evidence.Falling:
		v.Words = t.TrendDown(percent(v.Factor), percent(v.High), percent(v.Low))
	case evidence.Rising:
		v.Words = t.TrendUp(percent(v.Factor), percent(v.Low), percent(v.High))
	default:
		v.Words = t.TrendOpen(share(v.Low), share(v.High))
	}
	return v
}

// workOut works out again what was stopped.
func (a *App) workOut(ctx context.Context, e Event) Answer {
	delete(a.aheads, id[model.Outbreak](e.Data, "outbreak"))
	return a.Go(ctx, a.route)
}

// stopWork stops the work for an outbreak; its answer says so.
func (a *App) stopWork(_ context.Context, e Event) Answer {
	if x := a.aheads[id[model.Outbreak](e.Data, "outbreak")]; x != nil && x.stop != nil {
		x.stop.Store(true)
	}
	return Answer{}
}
