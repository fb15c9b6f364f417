package agenda_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/standing"
)

// tenYears is an invented household of 500 plants at 50 places with ten years of
// weekly rounds and twenty courses of five sprays a year.
func tenYears(tb testing.TB) (*model.Book, model.Instant, *time.Location) {
	zone, err := time.LoadLocation("Europe/Berlin")
	require.NoError(tb, err)
	b := model.NewBook(model.HouseholdID{1})
	b.Products[soap] = &model.Product{ID: soap, RateUnit: model.RateMlPerLitre, RateMilli: 20_000, MixPerPlantMl: 100, MinInterval: 5, MaxPerSeason: 20, ReentryHours: 4}
	places := make([][]model.PlantID, 50)
	for i := range places {
		place := model.PlaceID{1, byte(i)}
		b.Places[place] = &model.Place{ID: place, Name: "Place", Order: i, RoundEvery: 7}
		for j := range 10 {
			p := model.PlantID{2, byte(i), byte(j)}
			b.Plants[p] = &model.Plant{ID: p, Name: "Plant", Place: place}
			places[i] = append(places[i], p)
		}
	}
	seq := uint64(0)
	add := func(day model.Date, body model.Body) {
		seq++
		at := day.Start(time.UTC) + 10*3600_000 + model.Instant(seq%3600)*1000
		b.Add(&model.Fact{ID: model.FactID{Device: model.DeviceID{byte(seq % 3)}, Seq: seq}, Stamp: uint64(at)<<16 | seq&0xffff, At: at, By: ada, Body: body})
	}
	start := model.DateOf(2015, time.January, 1)
	for week := range 520 {
		day := start.Add(week * 7)
		for i, plants := range places {
			k := roundKey(model.PlaceID{1, byte(i)}, uint32(week+1))
			for j, p := range plants {
				x := &model.Inspection{Plant: p, Round: k}
				if j == len(plants)-1 {
					x.Completes = k
				}
				add(day, x)
			}
		}
		if n := week / 13 * 5; week%13 == 0 { // a quarter begins with five outbreaks
			for i := range 5 {
				course(b, add, day, n+i, places[(n+i)%50], week == 520-13)
			}
		}
	}
	now := start.Add(520*7).Start(zone) + 9*3600_000
	return b, now, zone
}

// course is an outbreak with its plan; all but the last quarter's are over.
func course(b *model.Book, add func(model.Date, model.Body), day model.Date, n int, plants []model.PlantID, open bool) {
	o, plan := model.OutbreakID{3, byte(n), byte(n >> 8)}, model.PlanID{4, byte(n), byte(n >> 8)}
	b.Outbreaks[o] = &model.Outbreak{ID: o, Opened: day, Affects: map[model.PlantID]bool{plants[0]: true}}
	add(day, &model.PlanAccepted{Plan: plan, Outbreak: o, Plants: plants, Steps: model.Rhythm(soap, day.Add(1), 7, 5, 3)})
	steps := uint32(5)
	if open {
		steps = 2
	} else {
		b.Outbreaks[o].Closed = day.Add(40)
	}
	for k := uint32(1); k <= steps; k++ {
		add(day.Add(int(k)*7), &model.Application{Plants: plants, Product: soap, Outbreak: o, Completes: planKey(model.RuleSpray, plan, k)})
		add(day.Add(int(k)*7+3), &model.TaskCompleted{Task: planKey(model.RuleCheck, plan, k)})
	}
}

func TestTenYearsComeOutRight(t *testing.T) {
	b, now, zone := tenYears(t)
	require.Greater(t, b.Len(), 260_000)
	a := agenda.Derive(b, now, zone)
	require.Len(t, rule(a, model.RuleRound), 50)
	require.Len(t, rule(a, model.RuleSpray), 5*3)
	require.Len(t, rule(a, model.RuleCheck), 5*3)
	require.Len(t, standing.Derive(b, now, zone), 500)
}

func BenchmarkDerive(b *testing.B) {
	book, now, zone := tenYears(b)
	book.Facts()
	for b.Loop() {
		agenda.Derive(book, now, zone)
	}
	b.ReportMetric(float64(book.Len()), "facts")
}

// One fact more, as after a tap.
func BenchmarkDeriveOneMore(b *testing.B) {
	book, now, zone := tenYears(b)
	var c agenda.Cache
	c.Derive(book, now, zone)
	seq := uint64(1_000_000)
	for b.Loop() {
		seq++
		book.Add(&model.Fact{ID: model.FactID{Device: model.DeviceID{1}, Seq: seq}, Stamp: uint64(now)<<16 + seq, At: now, By: ada,
			Body: &model.Inspection{Plant: model.PlantID{2, 1, 1}, Round: roundKey(model.PlaceID{1, 1}, 521)}})
		c.Derive(book, now, zone)
	}
}

func BenchmarkStanding(b *testing.B) {
	book, now, zone := tenYears(b)
	for b.Loop() {
		standing.Derive(book, now, zone)
	}
}

func BenchmarkCheckApplication(b *testing.B) {
	book, now, zone := tenYears(b)
	plants := []model.PlantID{{2, 3, 1}, {2, 3, 2}, {2, 3, 3}}
	for b.Loop() {
		agenda.CheckApplication(book, ada, soap, plants, now, zone)
	}
}
