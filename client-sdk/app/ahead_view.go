package app

import (
	"math"
	"strconv"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/evidence"
	"leafturn/model/population"
)

func (a *App) forecastView(in *history, out *outlook) screens.ForecastView {
	t := a.t.Forecast
	number := func(n int) string { return a.t.Ahead.Number(float64(n)) }
	v := screens.ForecastView{Outbreak: in.outbreak.String(), Unit: t.Unit(in.name), Today: in.today, Marks: in.marks, Counted: in.counted,
		Basis: a.t.Ahead.Repeat(runs, strconv.FormatUint(in.seed, 10))}
	v.Assumptions = []string{a.warmthWords(in), t.Worst(in.name), t.Host, t.Coverage, t.Arrivals, t.Levels(number(population.CapacityOf(in.species)))}
	peak := 0
	for i, dawn := range out.ahead.Dawns {
		v.Days = append(v.Days, shared(in.start.Add(out.ahead.From+i), dawn))
		if dawn.Bands[population.All].Middle > out.ahead.Dawns[peak].Bands[population.All].Middle {
			peak = i
		}
	}
	last := out.ahead.Dawns[len(out.ahead.Dawns)-1].Bands[population.All]
	most := out.ahead.Dawns[peak].Bands[population.All]
	if peak == 0 {
		v.Summary = t.Falling(a.t.Format.Day(v.Days[len(v.Days)-1].Date), number(last.Low), number(last.High))
	} else {
		v.Summary = t.Course(a.t.Format.Day(v.Days[peak].Date), number(most.Middle), number(most.Low), number(most.High))
	}
	if len(in.planned) == 0 {
		v.Summary = t.Untreated(v.Summary)
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

func (a *App) clearView(in *history, out *outlook) *screens.ClearView {
	v := &screens.ClearView{Chance: out.clear, Target: target, RestsOn: in.rests, Trend: a.trendView(in),
		Notes: []string{a.t.Clear.Subject(in.name), a.t.Clear.Honest, a.t.Clear.SamePerson}}
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
func (a *App) trendView(in *history) *screens.TrendView {
	if in.treated == 0 {
		return nil
	}
	var before, after []evidence.Count
	for _, c := range in.counts {
		if len(before) == 0 && c.Animals == 0 {
			continue // from before the pest was there
		}
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
