package model_test

import (
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
)

var (
	plants  = []model.PlantID{{1}}
	taskKey = model.TaskKey{Rule: model.RuleSpray, Subject: uuid.UUID{1}, Ordinal: 1}
	tooLong = strings.Repeat("x", 4001)
)

func goodInspection() *model.Inspection {
	return &model.Inspection{Plant: plants[0], Findings: []model.Finding{{Part: model.Underside, Signs: model.FineWebbing | model.LarvaeInSoil}},
		Damage: 5, Photos: make([]model.PhotoSum, 16), Round: taskKey, Completes: taskKey}
}

func goodApplication() *model.Application {
	return &model.Application{Plants: plants, Product: model.ProductID{1}, AmountMl: 1_000_000, Parts: model.Parts, Completes: taskKey}
}

func goodPlan() *model.PlanAccepted {
	return &model.PlanAccepted{Plan: model.PlanID{1}, Outbreak: model.OutbreakID{1}, Plants: plants, Basis: model.CommonPractice, Target: 950, Chance: 1000,
		Steps: []model.PlanStep{{Kind: model.StepSpray, Day: 20_000, Product: model.ProductID{1}, Why: []model.StepWhy{{Because: 1}}}, {Kind: model.StepLook, Day: 20_003}}}
}

func goodCard() *model.CardReading {
	return &model.CardReading{Place: model.PlaceID{1}, Colour: model.BlueCard, Count: 3, Counted: -1}
}

func goodMeasurement() *model.Measurement {
	return &model.Measurement{Plant: plants[0], Photo: model.PhotoSum{1}, Method: 1, Damaged: 10_000, Confidence: 100, Verdict: model.Outlined,
		Outline: []model.Point{{X: 0, Y: 0}, {X: 1, Y: 0}, {X: 0, Y: 10_000}}}
}

func with[T any](good func() *T, change func(*T)) *T {
	x := good()
	change(x)
	return x
}

func TestGoodFactsAreTaken(t *testing.T) {
	for name, b := range map[string]model.Body{
		"look":                   goodInspection(),
		"look, nothing found":    &model.Inspection{Plant: plants[0]},
		"treatment":              goodApplication(),
		"treatment, no outbreak": &model.Application{Plants: plants, Product: model.ProductID{1}},
		"handling":               &model.Handling{Kind: model.Wiped, Plants: plants, Completes: taskKey},
		"plan":                   goodPlan(),
		"plan at its limits": with(goodPlan, func(p *model.PlanAccepted) {
			p.Isolate, p.Target, p.Chance, p.Aim, p.Basis = true, 1000, 1000, model.NoChemicals, model.Computed
			p.Steps = model.Rhythm(model.ProductID{1}, 20_000, 7, 200, 0)
		}),
		"card":        goodCard(),
		"temperature": &model.Temperature{Place: model.PlaceID{1}, Coldest: -500, Warmest: 600},
		"measured":    goodMeasurement(),
		"cut flowers": &model.Handling{Kind: model.CutCameIn, Place: model.PlaceID{1}},
		"claim":       &model.TaskClaimed{Task: taskKey, Until: 1},
		"put off":     &model.TaskPutOff{Task: taskKey, Until: 1, Reason: model.OtherWhy},
		"completed":   &model.TaskCompleted{Task: taskKey},
		"settled":     &model.Settled{Task: taskKey},
		"withdrawal":  &model.Withdrawn{Fact: factID(1), Note: "wrong plant"},
	} {
		t.Run(name, func(t *testing.T) { require.NoError(t, b.Validate()) })
	}
}

func TestImpossibleFactsAreRefused(t *testing.T) {
	noRule := model.TaskKey{Subject: uuid.UUID{1}, Ordinal: 1}
	foreignRule := model.TaskKey{Rule: model.RuleMeasure + 1, Subject: uuid.UUID{1}, Ordinal: 1}
	noSubject := model.TaskKey{Rule: model.RuleRound, Ordinal: 1}
	noOrdinal := model.TaskKey{Rule: model.RuleRound, Subject: uuid.UUID{1}}
	inspection := func(change func(*model.Inspection)) model.Body { return with(goodInspection, change) }
	application := func(change func(*model.Application)) model.Body { return with(goodApplication, change) }
	plan := func(change func(*model.PlanAccepted)) model.Body { return with(goodPlan, change) }
	for name, b := range map[string]model.Body{
		"look at no plant":            inspection(func(i *model.Inspection) { i.Plant = model.PlantID{} }),
		"look, too many findings":     inspection(func(i *model.Inspection) { i.Findings = make([]model.Finding, 17) }),
		"look, no part":               inspection(func(i *model.Inspection) { i.Findings[0].Part = 0 }),
		"look, unknown part":          inspection(func(i *model.Inspection) { i.Findings[0].Part = model.LeafStalk + 1 }),
		"look, unknown sign":          inspection(func(i *model.Inspection) { i.Findings[0].Signs = 1 << 12 }),
		"look, too much damage":       inspection(func(i *model.Inspection) { i.Damage = 6 }),
		"look, too many photos":       inspection(func(i *model.Inspection) { i.Photos = make([]model.PhotoSum, 17) }),
		"look, long note":             inspection(func(i *model.Inspection) { i.Note = tooLong }),
		"look, note is no text":       inspection(func(i *model.Inspection) { i.Note = "\xff" }),
		"look, round without rule":    inspection(func(i *model.Inspection) { i.Round = noRule }),
		"look, foreign rule":          inspection(func(i *model.Inspection) { i.Completes = foreignRule }),
		"treatment of nothing":        application(func(a *model.Application) { a.Plants = nil }),
		"treatment of plant zero":     application(func(a *model.Application) { a.Plants = []model.PlantID{{1}, {}} }),
		"treatment of too many":       application(func(a *model.Application) { a.Plants = make([]model.PlantID, 2001) }),
		"treatment with nothing":      application(func(a *model.Application) { a.Product = model.ProductID{} }),
		"treatment, negative":         application(func(a *model.Application) { a.AmountMl = -1 }),
		"treatment, a tank lorry":     application(func(a *model.Application) { a.AmountMl = 1_000_001 }),
		"treatment, unknown part":     application(func(a *model.Application) { a.Parts = []model.Part{9} }),
		"treatment, too many parts":   application(func(a *model.Application) { a.Parts = make([]model.Part, 9) }),
		"treatment, long note":        application(func(a *model.Application) { a.Note = tooLong }),
		"treatment, no subject":       application(func(a *model.Application) { a.Completes = noSubject }),
		"handling of no kind":         &model.Handling{Plants: plants},
		"handling, unknown kind":      &model.Handling{Kind: model.Tried + 1, Plants: plants},
		"handling, flowers, no place": &model.Handling{Kind: model.CutCameIn},
		"handling, flowers and plant": &model.Handling{Kind: model.CutCameIn, Place: model.PlaceID{1}, Plants: plants},
		"look, unknown part seen":     inspection(func(i *model.Inspection) { i.Looked = 1 }),
		"look, unknown sign absent":   inspection(func(i *model.Inspection) { i.Absent = 1 << 12 }),
		"look, unknown aid":           inspection(func(i *model.Inspection) { i.Aid = model.PaperTap + 1 }),
		"step of no kind":             plan(func(p *model.PlanAccepted) { p.Steps[0].Kind = 0 }),
		"step without a day":          plan(func(p *model.PlanAccepted) { p.Steps[0].Day = 0 }),
		"steps out of order":          plan(func(p *model.PlanAccepted) { p.Steps[1].Day = 19_999 }),
		"spray with nothing":          plan(func(p *model.PlanAccepted) { p.Steps[0].Product = model.ProductID{} }),
		"look with a product":         plan(func(p *model.PlanAccepted) { p.Steps[1].Product = model.ProductID{1} }),
		"too many steps":              plan(func(p *model.PlanAccepted) { p.Steps = make([]model.PlanStep, 201) }),
		"too many reasons":            plan(func(p *model.PlanAccepted) { p.Steps[0].Why = make([]model.StepWhy, 7) }),
		"a reason beyond reason":      plan(func(p *model.PlanAccepted) { p.Steps[0].Why[0].Days = 1_000_001 }),
		"a reason of another age":     plan(func(p *model.PlanAccepted) { p.Steps[0].Why[0].Date = -1 }),
		"more than certain":           plan(func(p *model.PlanAccepted) { p.Chance = 1001 }),
		"an unknown aim":              plan(func(p *model.PlanAccepted) { p.Aim = model.NoChemicals + 1 }),
		"card at no place":            with(goodCard, func(c *model.CardReading) { c.Place = model.PlaceID{} }),
		"card of no colour":           with(goodCard, func(c *model.CardReading) { c.Colour = 0 }),
		"card, less than nothing":     with(goodCard, func(c *model.CardReading) { c.Count = -1 }),
		"card, unknown pest":          with(goodCard, func(c *model.CardReading) { c.Pest = 200 }),
		"temperature nowhere":         &model.Temperature{Coldest: 1, Warmest: 2},
		"temperature upside down":     &model.Temperature{Place: model.PlaceID{1}, Coldest: 3, Warmest: 2},
		"temperature of an oven":      &model.Temperature{Place: model.PlaceID{1}, Warmest: 601},
		"measured no photo":           with(goodMeasurement, func(m *model.Measurement) { m.Photo = model.PhotoSum{} }),
		"measured, more than all":     with(goodMeasurement, func(m *model.Measurement) { m.Damaged = 10_001 }),
		"measured, by no method":      with(goodMeasurement, func(m *model.Measurement) { m.Method = 0 }),
		"outlined without a line":     with(goodMeasurement, func(m *model.Measurement) { m.Outline = m.Outline[:2] }),
		"a line nobody drew":          with(goodMeasurement, func(m *model.Measurement) { m.Verdict = model.Agreed }),
		"a line off the picture":      with(goodMeasurement, func(m *model.Measurement) { m.Outline[0].X = 10_001 }),
		"handling of nothing":         &model.Handling{Kind: model.Isolated},
		"handling, no ordinal":        &model.Handling{Kind: model.Isolated, Plants: plants, Completes: noOrdinal},
		"plan without id":             plan(func(p *model.PlanAccepted) { p.Plan = model.PlanID{} }),
		"plan for no outbreak":        plan(func(p *model.PlanAccepted) { p.Outbreak = model.OutbreakID{} }),
		"plan for nothing":            plan(func(p *model.PlanAccepted) { p.Plants = nil }),
		"plan of no step":             plan(func(p *model.PlanAccepted) { p.Steps = nil }),
		"plan in another age":         plan(func(p *model.PlanAccepted) { p.Steps[1].Day = 2_932_897 }),
		"plan on no basis":            plan(func(p *model.PlanAccepted) { p.Basis = 0 }),
		"claim of no task":            &model.TaskClaimed{Until: 1},
		"claim without end":           &model.TaskClaimed{Task: taskKey},
		"put off, no task":            &model.TaskPutOff{Until: 1, Reason: model.NoTime},
		"put off, no day":             &model.TaskPutOff{Task: taskKey, Reason: model.NoTime},
		"put off, no reason":          &model.TaskPutOff{Task: taskKey, Until: 1},
		"put off, unknown reason":     &model.TaskPutOff{Task: taskKey, Until: 1, Reason: model.OtherWhy + 1},
		"completed, no task":          &model.TaskCompleted{},
		"settled, no task":            &model.Settled{},
		"withdrawal of nothing":       &model.Withdrawn{},
		"withdrawal, no device":       &model.Withdrawn{Fact: model.FactID{Seq: 1}},
		"withdrawal, no sequence":     &model.Withdrawn{Fact: model.FactID{Device: device}},
		"withdrawal, long note":       &model.Withdrawn{Fact: factID(1), Note: tooLong},
	} {
		t.Run(name, func(t *testing.T) { require.ErrorIs(t, b.Validate(), model.ErrInvalid) })
	}
}

func TestFields(t *testing.T) {
	text, number, truth, sub := model.Text("x"), model.Int(7), model.Bool(true), uuid.UUID{1}
	for name, c := range map[string]struct {
		kind model.Kind
		key  model.FieldKey
		v    model.Value
		want error
	}{
		"a name":                     {model.KindPlant, model.FieldKey{Field: model.PlantName}, text, nil},
		"a name is too long":         {model.KindPlant, model.FieldKey{Field: model.PlantName}, model.Text(strings.Repeat("x", 201)), model.ErrInvalid},
		"a name is no text":          {model.KindPlant, model.FieldKey{Field: model.PlantName}, model.Text("\xff"), model.ErrInvalid},
		"a name is a number":         {model.KindPlant, model.FieldKey{Field: model.PlantName}, number, model.ErrInvalid},
		"a place":                    {model.KindPlant, model.FieldKey{Field: model.PlantPlace}, model.IDValue(model.PlaceID{1}), nil},
		"a rhythm":                   {model.KindPlace, model.FieldKey{Field: model.PlaceRoundEvery}, number, nil},
		"a rhythm of 0 days":         {model.KindPlace, model.FieldKey{Field: model.PlaceRoundEvery}, model.Int(0), model.ErrInvalid},
		"a rhythm of 61 days":        {model.KindPlace, model.FieldKey{Field: model.PlaceRoundEvery}, model.Int(61), model.ErrInvalid},
		"a truth":                    {model.KindPlant, model.FieldKey{Field: model.PlantEdible}, truth, nil},
		"a truth of 2":               {model.KindPlant, model.FieldKey{Field: model.PlantEdible}, model.Value{Type: model.TypeBool, Int: 2}, model.ErrInvalid},
		"a member of a set":          {model.KindOutbreak, model.FieldKey{Field: model.OutbreakAffects, Sub: sub}, truth, nil},
		"a set without a member":     {model.KindOutbreak, model.FieldKey{Field: model.OutbreakAffects}, truth, model.ErrInvalid},
		"a member where no set is":   {model.KindOutbreak, model.FieldKey{Field: model.OutbreakNote, Sub: sub}, text, model.ErrInvalid},
		"a field of a newer version": {model.KindPlant, model.FieldKey{Field: 99}, text, model.ErrUnknownField},
		"a kind of a newer version":  {99, model.FieldKey{Field: 1}, text, model.ErrUnknownField},
	} {
		t.Run(name, func(t *testing.T) {
			err := model.ValidateField(c.kind, c.key, c.v)
			if c.want == nil {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestSignsAndCounts(t *testing.T) {
	s := model.FineWebbing | model.Yellowing
	require.True(t, s.Has(model.FineWebbing))
	require.False(t, s.Has(model.FineWebbing|model.StickyHoneydew))
	require.Equal(t, 4*65535, model.Counts{65535, 65535, 65535, 65535}.Total())
	require.True(t, goodInspection().Found())
	require.False(t, (&model.Inspection{}).Found())
}

// A task of a plan is the how manieth of its rule: neither its day nor the steps of
// other kinds take part in its name.
func TestTaskKeysOfAPlan(t *testing.T) {
	soap := model.ProductID{1}
	p := &model.PlanAccepted{Plan: model.PlanID{7}, Steps: []model.PlanStep{
		{Kind: model.StepTryLeaf, Day: 1, Product: soap}, {Kind: model.StepRinse, Day: 3}, {Kind: model.StepSpray, Day: 3, Product: soap},
		{Kind: model.StepLook, Day: 5}, {Kind: model.StepSoil, Day: 6, Product: soap}, {Kind: model.StepWipe, Day: 9},
		{Kind: model.StepSpray, Day: 10, Product: soap}, {Kind: model.StepLook, Day: 12},
	}}
	var got [][2]int
	for _, k := range p.TaskKeys() {
		require.Equal(t, p.Plan.UUID(), k.Subject)
		got = append(got, [2]int{int(k.Rule), int(k.Ordinal)})
	}
	require.Equal(t, [][2]int{{7, 1}, {6, 1}, {2, 1}, {3, 1}, {5, 1}, {6, 2}, {2, 2}, {3, 2}}, got)
	require.Same(t, &p.Steps[5], p.Step(model.TaskKey{Rule: model.RuleWash, Subject: p.Plan.UUID(), Ordinal: 2}))
	require.Nil(t, p.Step(model.TaskKey{Rule: model.RuleWash, Subject: p.Plan.UUID(), Ordinal: 3}))
	require.Nil(t, p.Step(model.TaskKey{Rule: model.RuleSpray, Ordinal: 1}))
}

func TestRhythm(t *testing.T) {
	soap := model.ProductID{1}
	require.Equal(t, []model.PlanStep{
		{Kind: model.StepSpray, Day: 100, Product: soap}, {Kind: model.StepLook, Day: 103},
		{Kind: model.StepSpray, Day: 107, Product: soap}, {Kind: model.StepLook, Day: 110},
	}, model.Rhythm(soap, 100, 7, 2, 3))
	require.Len(t, model.Rhythm(soap, 100, 7, 3, 0), 3)
}
