package sample

import (
	"github.com/google/uuid"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// The courses: sprays a week apart, which is common practice (no source), and a look
// three days after each. Soap was sprayed once, twice by mistake. Since the look after
// it found no fewer than the one before, spinosad took its place: two of its sprays are
// done, so the third is due tomorrow.
const (
	courseFirst    = -20
	courseChanged  = -13 // the first spray of the second course
	courseInterval = 7
	courseSprays   = 4
	courseCheck    = 3
)

// fighting is the courses against the outbreak, from the finding to the last spray.
func fighting() []event {
	return []event{
		{moment{-21, 18, 40}, (*tale).openOutbreak},
		{moment{-20, 9, 50}, (*tale).noteSpread},
		{moment{-20, 12, 0}, (*tale).throwOut},
		{moment{-20, 12, 20}, (*tale).begin},
		{moment{courseFirst, 18, 40}, (*tale).sprayTwice},
		{moment{courseFirst + 1, 8, 30}, func(t *tale) { t.did(keeper, &model.Settled{Task: t.spray(1)}) }},
		{moment{courseChanged - 1, 20, 0}, (*tale).change},
		{moment{courseChanged, 18, 30}, func(t *tale) { t.apply(helper, spinosad, t.next(model.RuleSpray, uuid.UUID(t.plan)), 480, noNote) }},
		{moment{courseChanged + courseInterval - 1, 20, 0}, func(t *tale) {
			t.did(keeper, &model.TaskClaimed{Task: t.spray(2), Until: t.date(courseChanged + courseInterval + 1).Start(t.zone)})
		}},
		{moment{courseChanged + courseInterval, 18, 30}, func(t *tale) { t.apply(keeper, spinosad, t.next(model.RuleSpray, uuid.UUID(t.plan)), 480, noNote) }},
	}
}

func (t *tale) openOutbreak() {
	t.outbreak = model.OutbreakID(t.o.NewID())
	fields := []oplog.Setting{replica.To(model.OutbreakPest, model.Int(model.PestThrips)), replica.To(model.OutbreakOpened, model.Int(t.date(-21)))}
	for _, p := range []plant{monstera, philodendron, alocasia, calathea} {
		fields = append(fields, t.affects(p))
	}
	t.write(keeper, replica.Set(model.KindOutbreak, t.outbreak, fields...))
	t.did(keeper, &model.Handling{Kind: model.Rinsed, Plants: t.named(monstera, philodendron, alocasia)})
}

func (t *tale) affects(p plant) oplog.Setting {
	return oplog.Setting{Key: model.FieldKey{Field: model.OutbreakAffects, Sub: uuid.UUID(t.plants[p])}, Value: model.Bool(true)}
}

func (t *tale) noteSpread() {
	t.write(helper, replica.Set(model.KindOutbreak, t.outbreak, t.affects(peaceLily)))
	t.share()
}

func (t *tale) throwOut() {
	t.did(keeper, &model.Handling{Kind: model.ThrownOut, Plants: t.named(calathea), Note: t.words.notes[bagged]})
	t.write(keeper, replica.Set(model.KindPlant, t.plants[calathea], replica.To(model.PlantRemoved, model.Bool(true))))
}

// begin is the keeper's first decision, with the plants set apart.
func (t *tale) begin() {
	t.accept(soap, courseFirst)
	t.pass(20)
	t.did(keeper, &model.Handling{Kind: model.Isolated, Plants: t.named(treated...), Completes: t.next(model.RuleIsolate, uuid.UUID(t.plan))})
	t.share()
}

// change is the keeper's second decision.
func (t *tale) change() {
	t.accept(spinosad, courseChanged)
	t.share()
}

// accept puts a product on the shelf, and decides when to spray it.
func (t *tale) accept(p product, first int) {
	t.shelve(p)
	t.plan = model.PlanID(t.o.NewID())
	t.did(keeper, &model.PlanAccepted{Plan: t.plan, Outbreak: t.outbreak, Plants: t.named(treated...), Isolate: true, Basis: model.CommonPractice,
		Steps: model.Rhythm(t.products[p], t.date(first), courseInterval, courseSprays, courseCheck)})
}

// sprayTwice is two members who do the same step, because neither phone had heard
// of the other's by then.
func (t *tale) sprayTwice() {
	first := t.next(model.RuleSpray, uuid.UUID(t.plan))
	t.apply(keeper, soap, first, 600, noNote)
	t.pass(90)
	t.apply(helper, soap, first, 550, twice)
}

func (t *tale) apply(w who, p product, step model.TaskKey, ml int, n note) {
	t.did(w, &model.Application{Plants: t.named(treated...), Product: t.products[p], Outbreak: t.outbreak, AmountMl: ml,
		Parts: []model.Part{model.Underside, model.TopSide, model.NewGrowth, model.Stem}, Note: t.words.notes[n], Completes: step})
}

// spray names a step of the course without doing it.
func (t *tale) spray(step uint32) model.TaskKey {
	return model.TaskKey{Rule: model.RuleSpray, Subject: uuid.UUID(t.plan), Ordinal: step}
}

func (t *tale) named(ps ...plant) []model.PlantID {
	out := make([]model.PlantID, len(ps))
	for i, p := range ps {
		out[i] = t.plants[p]
	}
	return out
}
