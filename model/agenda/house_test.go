package agenda_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the same zones on every machine

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

// The household of these tests is invented: Ada and Bo keep three ferns and a
// basil on a sill, and one orchid in the bath.
var (
	ada, bo    = model.MemberID{0xa}, model.MemberID{0xb}
	adas, bos  = model.DeviceID{0xa}, model.DeviceID{0xb}
	sill, bath = model.PlaceID{1}, model.PlaceID{2}

	fern1, fern2, fern3 = model.PlantID{1}, model.PlantID{2}, model.PlantID{3}
	basil, orchid       = model.PlantID{4}, model.PlantID{5}

	soap, oil = model.ProductID{1}, model.ProductID{2}
	thrips    = model.OutbreakID{1}
	planA     = model.PlanID{0xa}
	planB     = model.PlanID{0xb}

	monday = model.DateOf(2025, time.June, 2)
)

type house struct {
	*model.Book
	zone *time.Location
	seq  uint64
}

func newHouse(t testing.TB, zone string) *house {
	z, err := time.LoadLocation(zone)
	require.NoError(t, err)
	b := model.NewBook(model.HouseholdID{9})
	b.Places[sill] = &model.Place{ID: sill, Name: "Sill", RoundEvery: 7}
	b.Places[bath] = &model.Place{ID: bath, Name: "Bath", RoundEvery: 14, Order: 1}
	for id, name := range map[model.PlantID]string{fern1: "Fern 1", fern2: "Fern 2", fern3: "Fern 3", basil: "Basil"} {
		b.Plants[id] = &model.Plant{ID: id, Name: name, Place: sill}
	}
	b.Plants[basil].Edible = true
	b.Plants[orchid] = &model.Plant{ID: orchid, Name: "Orchid", Place: bath, Sensitive: true}
	b.Products[soap] = &model.Product{ID: soap, Name: "Soap", Means: model.MeansSoap, RateUnit: model.RateMlPerLitre,
		RateMilli: 20_000, MixPerPlantMl: 100, MinInterval: 5, MaxPerSeason: 6, ReentryHours: 4, MaxCelsius: 30}
	b.Products[oil] = &model.Product{ID: oil, Name: "Oil", Means: model.MeansOil}
	b.Outbreaks[thrips] = &model.Outbreak{ID: thrips, Pest: model.PestThrips, Opened: monday, Affects: map[model.PlantID]bool{fern1: true}}
	return &house{Book: b, zone: z}
}

// at is noon of the n-th day after Monday.
func (h *house) at(n int) model.Instant { return monday.Add(n).Start(h.zone) + 12*3600_000 }

// did adds a fact that somebody saw or did on a day. It is written down after all
// those before it, whatever their days.
func (h *house) did(by model.MemberID, day int, body model.Body) *model.Fact {
	h.seq++
	at := h.at(day) + model.Instant(h.seq)
	f := &model.Fact{ID: model.FactID{Device: model.DeviceID(by), Seq: h.seq}, Stamp: h.seq, At: at, By: by, Body: body}
	h.Add(f)
	return f
}

func (h *house) withdraw(by model.MemberID, day int, f *model.Fact) *model.Fact {
	return h.did(by, day, &model.Withdrawn{Fact: f.ID})
}

// accept takes on plan A, or a change of it: soap on three ferns, weekly, three
// times, from Tuesday on.
func (h *house) accept(by model.MemberID, day int, change func(*model.PlanAccepted)) *model.Fact {
	p := &model.PlanAccepted{Plan: planA, Outbreak: thrips, Plants: []model.PlantID{fern1, fern2, fern3},
		Basis: model.CommonPractice, Steps: model.Rhythm(soap, monday.Add(1), 7, 3, 3)}
	if change != nil {
		change(p)
	}
	return h.did(by, day, p)
}

func (h *house) spray(by model.MemberID, day int, completes model.TaskKey, plants ...model.PlantID) *model.Fact {
	if len(plants) == 0 {
		plants = []model.PlantID{fern1, fern2, fern3}
	}
	return h.did(by, day, &model.Application{Plants: plants, Product: soap, Outbreak: thrips, Completes: completes})
}

func (h *house) agenda(day int) *agenda.Agenda { return agenda.Derive(h.Book, h.at(day), h.zone) }

func roundKey(p model.PlaceID, n uint32) model.TaskKey {
	return model.TaskKey{Rule: model.RuleRound, Subject: p.UUID(), Ordinal: n}
}

func planKey(r model.Rule, p model.PlanID, n uint32) model.TaskKey {
	return model.TaskKey{Rule: r, Subject: p.UUID(), Ordinal: n}
}

func step(n uint32) model.TaskKey  { return planKey(model.RuleSpray, planA, n) }
func check(n uint32) model.TaskKey { return planKey(model.RuleCheck, planA, n) }

// find gives the open task with a key, or fails.
func find(t require.TestingT, a *agenda.Agenda, k model.TaskKey) *agenda.Task {
	for _, task := range a.Open() {
		if task.Key == k {
			return task
		}
	}
	require.Failf(t, "no such task", "%v", k)
	return nil
}

func keys(tasks []*agenda.Task) []model.TaskKey {
	var all []model.TaskKey
	for _, t := range tasks {
		all = append(all, t.Key)
	}
	return all
}

// rule gives the keys of the open tasks made by some rule.
func rule(a *agenda.Agenda, r model.Rule) []model.TaskKey {
	var all []model.TaskKey
	for _, t := range a.Open() {
		if t.Key.Rule == r {
			all = append(all, t.Key)
		}
	}
	return all
}

func because(t *agenda.Task) []agenda.Because {
	var all []agenda.Because
	for _, r := range t.Why {
		all = append(all, r.Because)
	}
	return all
}

func caution(t *agenda.Task, k agenda.CautionKind) *agenda.Caution {
	for i := range t.Cautions {
		if t.Cautions[i].Kind == k {
			return &t.Cautions[i]
		}
	}
	return nil
}
