package mergetest

import (
	"slices"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// ID makes an id from a name.
func ID[Of any](name string) model.ID[Of] {
	return model.ID[Of](uuid.NewSHA1(uuid.NameSpaceOID, []byte(name)))
}

// Task makes the key of a task from a name.
func Task(rule model.Rule, name string, ordinal uint32) model.TaskKey {
	return model.TaskKey{Rule: rule, Subject: uuid.NewSHA1(uuid.NameSpaceURL, []byte(name)), Ordinal: ordinal}
}

// Facts is one fact of every kind, by name, about plants with the given ids. Withdraw
// names the fact that the withdrawal takes back.
func Facts(withdraw model.FactID, plants ...model.PlantID) map[string]model.Body {
	return map[string]model.Body{
		"inspection": &model.Inspection{Plant: plants[0], Damage: 2, Note: "pale flecks beside the vein", Photos: []model.PhotoSum{{1}, {2}},
			Findings: []model.Finding{{Part: model.Underside, Signs: model.SilveryPatches | model.BlackSpecks, Counts: model.Counts{0, 7, 0, 300}}},
			Round:    Task(model.RuleRound, "east window", 4), Completes: Task(model.RuleCheck, "plan", 1)},
		"clean look": &model.Inspection{Plant: plants[len(plants)-1]},
		"application": &model.Application{Plants: plants, Product: ID[model.Product]("soap"), Outbreak: ID[model.Outbreak]("thrips"), AmountMl: 900,
			Parts: []model.Part{model.Underside, model.Stem}, Completes: Task(model.RuleSpray, "plan", 2)},
		"handling": &model.Handling{Kind: model.Moved, Plants: plants, Place: ID[model.Place]("bathroom"), Note: "until the course is over"},
		"plan": &model.PlanAccepted{Plan: ID[model.PlanAccepted]("plan"), Outbreak: ID[model.Outbreak]("thrips"), Plants: plants,
			Isolate: true, Basis: model.CommonPractice, Steps: model.Rhythm(ID[model.Product]("soap"), 20_800, 7, 4, 3)},
		"card": &model.CardReading{Place: ID[model.Place]("east window"), Colour: model.YellowCard, Pest: model.PestThrips, Count: 9, Counted: -1,
			Completes: Task(model.RuleCardRead, "east window", 1)},
		"temperature": &model.Temperature{Place: ID[model.Place]("east window"), Coldest: 180, Warmest: 265},
		"measurement": &model.Measurement{Plant: plants[0], Photo: model.PhotoSum{1}, Method: 1, Damaged: 412, Uncertain: 90, Confidence: 80, Verdict: model.Outlined,
			Outline: []model.Point{{X: 0, Y: 0}, {X: 10_000, Y: 20}, {X: 500, Y: 9_999}}},
		"close look": &model.Inspection{Plant: plants[0], Looked: model.PartsOf(model.Underside, model.Stem), Absent: model.FineWebbing, Aid: model.Lens, Growing: true},
		"claim":      &model.TaskClaimed{Task: Task(model.RuleSpray, "plan", 2), Until: Start + 36_000_000},
		"put off":    &model.TaskPutOff{Task: Task(model.RuleRound, "east window", 4), Until: 20_801, Reason: model.TooHot},
		"completed":  &model.TaskCompleted{Task: Task(model.RuleRound, "east window", 4)},
		"settled":    &model.Settled{Task: Task(model.RuleSpray, "plan", 2)},
		"withdrawn":  &model.Withdrawn{Fact: withdraw, Note: "wrong plant"},
	}
}

// FactNames are the names of Facts, sorted.
func FactNames() []string {
	var out []string
	for name := range Facts(model.FactID{}, model.PlantID{1}) {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// Plant names a plant record.
func Plant(name string) model.Ref {
	return model.Ref{Kind: model.KindPlant, ID: ID[model.Plant](name).UUID()}
}

// Setting makes a setting of a field that holds no set.
func Setting(f model.Field, v model.Value) oplog.Setting {
	return oplog.Setting{Key: model.FieldKey{Field: f}, Value: v}
}
