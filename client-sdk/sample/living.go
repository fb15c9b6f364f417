package sample

import (
	"github.com/google/uuid"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// living is what else happened: a new plant, a look taken back, two members who
// edit the same note, a round put off.
func living() []event {
	return []event{
		{moment{-12, 17, 0}, (*tale).mistake},
		{moment{-10, 16, 0}, (*tale).bringIn},
		{moment{-9, 9, 10}, func(t *tale) { t.note(keeper, pothos, waterKeeper) }},
		{moment{-9, 20, 5}, func(t *tale) { t.note(helper, pothos, waterHelper) }},
		{moment{-7, 18, 0}, (*tale).putOff},
		{moment{-1, 17, 30}, func(t *tale) { t.did(guest, t.inspect(-1, orchid)) }},
	}
}

// mistake is a look that was noted and then taken back.
func (t *tale) mistake() {
	wrong := &model.Inspection{Plant: t.plants[snakePlant], Damage: 1, Note: t.words.notes[dust],
		Findings: []model.Finding{{Part: model.TopSide, Signs: model.BlackSpecks}}}
	id := t.did(guest, wrong)
	t.pass(15)
	t.did(guest, &model.Withdrawn{Fact: id, Note: t.words.notes[onlyDust]})
}

// bringIn is a new plant, which stands apart from the first hour.
func (t *tale) bringIn() {
	t.potted(orchid)
	t.did(keeper, &model.Handling{Kind: model.CameIn, Plants: t.named(orchid), Place: t.places[hall]})
	t.did(keeper, &model.Handling{Kind: model.Isolated, Plants: t.named(orchid), Note: t.words.notes[apart]})
}

// note sets a plant's note. The two members of the tale do so on one day without
// having heard of each other; the later one counts and the other can be shown.
func (t *tale) note(w who, p plant, n note) {
	t.write(w, replica.Set(model.KindPlant, t.plants[p], replica.To(model.PlantNote, model.Text(t.words.notes[n]))))
}

func (t *tale) putOff() {
	subject := uuid.UUID(t.places[livingRoom])
	round := model.TaskKey{Rule: model.RuleRound, Subject: subject}
	round.Ordinal = t.done[round] + 1
	t.did(helper, &model.TaskPutOff{Task: round, Until: t.date(-4), Reason: model.NoTime})
}
