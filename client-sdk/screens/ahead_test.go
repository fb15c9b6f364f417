package screens_test

import (
	"math"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/plan"
)

var (
	wed     = model.DateOf(2026, 11, 25)
	assumed = []string{
		t0.Forecast.Warmth("Living room sill", "19 °C", "24.5 °C"),
		t0.Forecast.NoWarmth("Kitchen shelf", "18 °C", "22 °C"),
		t0.Forecast.Host,
		t0.Forecast.Coverage,
	}
	basis = t0.Ahead.Repeat(400, "1234")
)

// forecastDays is an invented course of numbers: growth, then a fall at each of
// the treatments. No biology is in it.
func forecastDays(n int, treated ...int) []screens.ForecastDay {
	days := make([]screens.ForecastDay, n)
	total, wide := 14.0, 1.15
	for i := range days {
		total, wide = total*1.055, wide+.035
		for _, at := range treated {
			if i == at {
				total *= .38
			}
		}
		turn := .5 + .5*math.Sin(float64(i)/4)
		shares := [4]float64{.3 + .1*turn, .35 - .15*turn, .15, .2 + .05*turn}
		days[i] = screens.ForecastDay{Date: wed.Add(i - 8), Low: total / wide / wide, High: total * wide * 1.2}
		for s, share := range shares {
			days[i].Stage[s] = total * share
		}
	}
	return days
}

func forecastView() *screens.ForecastView {
	return &screens.ForecastView{
		Outbreak: "o1", Today: wed, Unit: t0.Forecast.Unit("3 plants"), Days: forecastDays(50, 8, 16, 25, 33),
		Summary: t0.Forecast.Course("Wed 25 Nov", "20", "13", "29") + " " + t0.Forecast.Falling("Wed 6 Jan", "0", "6"),
		Marks: []screens.ForecastMark{
			{Date: wed.Add(-8), What: "Potash soap (invented)", Kind: screens.TaskSpray, Done: true},
			{Date: wed, What: "Potash soap (invented)", Kind: screens.TaskSpray},
			{Date: wed.Add(4), What: "Rinse", Kind: screens.TaskByHand},
			{Date: wed.Add(8), What: "Potash soap (invented)", Kind: screens.TaskSpray},
			{Date: wed.Add(17), What: "Potash soap (invented)", Kind: screens.TaskSpray},
			{Date: wed.Add(19), What: "Rinse", Kind: screens.TaskByHand},
			{Date: wed.Add(90), What: "Outside the picture", Kind: screens.TaskSpray},
		},
		Counted: []screens.ForecastPoint{{Date: wed.Add(-8), Count: 19}, {Date: wed.Add(-4), Count: 15}, {Date: wed.Add(-1), Count: 22}},
		Basis:   basis, Assumptions: assumed,
	}
}

func clearView() *screens.ClearView {
	return &screens.ClearView{
		Chance: .71, Target: .95,
		Looks:   []screens.ClearLook{{Date: "Sat 28 Nov", Then: .86}, {Date: "Wed 2 Dec", Then: .93}, {Date: "Wed 9 Dec", Then: .96}},
		RestsOn: []string{"Mirek, Tue 24 Nov: underside and new growth of 3 plants, nothing found", "Jonna, Sat 21 Nov: underside of Calathea, nothing found"},
		Notes:   []string{t0.Clear.SamePerson, t0.Clear.EmptyCard},
		Trend:   &screens.TrendView{Words: t0.Clear.TrendDown("70%", "40%", "85%"), Since: t0.Clear.TrendSince("Tue 17 Nov"), Factor: .3, Low: .15, High: .6},
	}
}

func traceView() *screens.TraceView {
	return &screens.TraceView{
		From: wed.Add(-27), To: wed.Add(-16), Found: wed.Add(-6), Why: t0.Trace.WindowWhy("Big monstera", "4 young and 1 adult", "Thu 19 Nov", "19 °C", "24.5 °C"), Basis: basis,
		Fits: []screens.TraceFit{
			{Date: wed.Add(-24), Title: t0.Trace.CameIn("Calathea"), Why: t0.Trace.WhyArrival, Plant: screens.Named{ID: "p2", Name: "Calathea"}},
			{Date: wed.Add(-22), Title: t0.Trace.Beside("Big monstera", "Calathea"), Why: t0.Trace.WhySick, Plant: screens.Named{ID: fern, Name: "Big monstera"}},
			{Date: wed.Add(-30), Title: "A cutting was taken in"},
		},
		LookAt: []screens.TracePlant{{Plant: screens.Named{ID: "p3", Name: "Hoya on the hook"}, Place: "Living room sill", Why: t0.Trace.WhyNeighbour("20 days")}},
		Warn:   []screens.TraceWarning{{Who: "Where the Calathea came from", Why: t0.Trace.WarnGiver}, {Who: "Who got the cutting of the Hoya", Why: t0.Trace.WarnTaker}},
	}
}

func suspects(finding string) *screens.IdentifyView {
	return &screens.IdentifyView{
		Plant: fern, Finding: finding, None: .06,
		Suspects: []screens.Suspect{
			{Name: "Thrips", Chance: .68, Why: "Silvery patches speak for it."},
			{Name: "Spider mites", Chance: .23, Why: "Pale speckling speaks for them; there is no webbing."},
			{Name: "Broad mites", Chance: .03},
		},
		Ask: []screens.Question{
			{Sign: model.BlackSpecks, Words: "Are there black specks on the underside?", Why: "Thrips leave them, spider mites hardly ever do.", Answer: screens.AnswerAbsent},
			{Sign: model.FineWebbing, Words: "Is there fine webbing between leaf and stalk?", Why: "Spider mites spin, thrips do not."},
		},
	}
}

func atRisk(t *texts.Catalogue) []screens.AtRisk {
	return []screens.AtRisk{
		{Plant: screens.Named{ID: "p3", Name: "Hoya on the hook"}, Place: "Living room sill", Why: t.LookFirst.NearOutbreak("Thrips", "Mon 16 Nov")},
		{Plant: screens.Named{ID: "p8", Name: "Lemon verbena"}, Place: "Kitchen shelf", Why: t.LookFirst.NewHere("Thu 19 Nov")},
		{Plant: screens.Named{ID: "p9", Name: "String of hearts"}, Place: "Bedroom", Why: t.LookFirst.Unseen("23 days")},
	}
}

func why(r plan.Reason) string {
	return t0.Plans.Why(model.StepWhy{Because: uint8(r.Because), Date: r.Date, Days: r.Days, Wanted: r.Wanted}, "Potash soap (invented)")
}

func planDates() []screens.CourseDay {
	return []screens.CourseDay{
		{Date: "Thu 26 Nov", What: "Spray 3 plants", Kind: screens.TaskSpray, Why: why(plan.Reason{Because: plan.FirstPossible, Date: wed.Add(1)})},
		{Date: "Mon 30 Nov", What: "Rinse 3 plants", Kind: screens.TaskByHand, Why: why(plan.Reason{Because: plan.Bridges, Days: 3, Wanted: 4})},
		{Date: "Thu 3 Dec", What: "Spray 3 plants", Kind: screens.TaskSpray, Why: why(plan.Reason{Because: plan.LabelGap, Days: 7, Wanted: 4})},
		{Date: "Fri 11 Dec", What: "Spray 3 plants", Kind: screens.TaskSpray, Why: why(plan.Reason{Because: plan.LookAfter, Days: 3, Date: wed.Add(8)})},
	}
}

func plansView() screens.PlansView {
	return screens.PlansView{
		Outbreak: "o1", Name: "Thrips", Plants: 3, Target: .95, Aim: t0.Plans.Aim("95%", "Sun 31 Jan"), Choices: screens.PlanChoices{Pets: true},
		Plans: []screens.PlanCard{
			{Option: "fewest", Title: t0.Plans.Fewest, Lead: t0.Plans.FewestLead, Chance: .962, Count: t0.Plans.Count(4, 2, 8), Last: "Fri 18 Dec", Needed: "28.8 ml", Shelf: "20 ml", Over: "Wed 23 Dec", BuyBy: []string{t0.Plans.BuyBy("Fri 11 Dec", "8.8 ml")},
				Dates: planDates(), Limits: []string{t0.Plans.Limit(plan.LimitInterval), t0.Plans.Without(t0.Plans.Limit(plan.LimitSeason), "98%")}, Relax: []string{t0.Plans.RelaxBy(plan.LimitSeason)}},
			{Option: "soonest", Title: t0.Plans.Soonest, Lead: t0.Plans.SoonestLead, Chance: .981, Count: t0.Plans.Count(5, 5, 12), Last: "Fri 11 Dec", Needed: "36 ml", Shelf: "40 ml", Dates: planDates()[:3], Accepted: true},
			{Option: "water", Title: t0.Plans.NoChem, Lead: t0.Plans.NoChemLead, Chance: .58, Count: t0.Plans.Count(0, 14, 14), Last: "Sun 31 Jan", Dates: planDates()[1:2]},
			{Option: "systemic", Title: "Through the roots", Blocked: t0.Plans.NoTool, Relax: []string{t0.Plans.RelaxBy(plan.LimitShelf)}},
		},
		Held:     []string{t0.Plans.Held("Potash soap (invented)", "7 days", "4 days", false)},
		Refused:  []string{t0.Plans.Refused("Leaf oil (invented)", plan.NotForFood, "Basil")},
		Cautions: cautions, Basis: basis, Assumptions: assumed,
	}
}

func aheadExamples(t *texts.Catalogue) []example {
	busy, stopped, choosing := forecastView(), forecastView(), plansView()
	busy.Days, busy.Progress = nil, &screens.ProgressView{Done: 120, Of: 400}
	stopped.Days, stopped.Stopped = forecastDays(30), true
	choosing.Plans, choosing.Progress = choosing.Plans[:1], &screens.ProgressView{Done: 37, Of: 220}
	course := screens.CourseView{Summary: "Potash soap (invented), 4 sprays and 2 rinses", By: "Accepted by Mirek, Mon 16 Nov", Basis: basis, Days: courseDays}
	return []example{
		{"outbreak-ahead", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{
			ID: "o1", Name: "Thrips", Pest: model.PestThrips, Since: "Since Wed 4 Nov", Plants: rows[:3], Course: &course, Plans: true, CanClose: true,
			Proposal: &screens.ProposalView{Title: "The plan no longer reaches its aim", Reason: "22 were counted on Tue 24 Nov, more than the plan expected.", Was: .96, Now: .78},
			Forecast: forecastView(), Clear: clearView(), Trace: traceView(),
		})},
		{"outbreak-working", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{
			ID: "o1", Name: "Thrips", Since: "Since today", Plants: rows[:1], Plans: true, Forecast: busy,
			Clear: &screens.ClearView{Chance: .04, Target: .95}, Trace: &screens.TraceView{From: wed.Add(-9), To: wed.Add(-2), Found: wed},
		})},
		{"outbreak-stopped", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{
			ID: "o1", Name: "Thrips", Since: "Since today", Plants: rows[:1], Plans: true, Forecast: stopped, Clear: &screens.ClearView{Chance: .97, Target: .95, RestsOn: []string{"Mirek, Tue 24 Nov"}},
		})},
		{"outbreak-noforecast", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{
			ID: "o1", Name: "Not sure yet", Since: "Since today", Plants: rows[:1], Forecast: &screens.ForecastView{Problem: "A forecast needs to know the pest."},
		})},
		{"plans", screens.SpotOutbreaks, screens.Plans(t, plansView())},
		{"plans-working", screens.SpotOutbreaks, screens.Plans(t, choosing)},
		{"plans-stopped", screens.SpotOutbreaks, screens.Plans(t, screens.PlansView{Outbreak: "o1", Name: "Thrips", Plants: 1, Target: .95, Stopped: true, Plans: plansView().Plans[:1]})},
		{"plans-none", screens.SpotOutbreaks, screens.Plans(t, screens.PlansView{Outbreak: "o1", Name: "Thrips", Plants: 1, Target: .95})},
	}
}
