package notify

import (
	"fmt"
	"strings"

	"leafturn/model"
	"leafturn/model/agenda"
)

// The words of a calendar. Notes have none: phones find their own.

const feedName = "Leafturn"

// deeds says what is to be done, by rule.
var deeds = map[model.Rule]string{
	model.RuleRound:      "Look round",
	model.RuleSpray:      "Spray",
	model.RuleCheck:      "Look after the treatment",
	model.RuleIsolate:    "Keep apart",
	model.RuleSoil:       "Treat the potting mix",
	model.RuleWash:       "Rinse, wipe or cut off",
	model.RuleTryLeaf:    "Try one leaf",
	model.RuleCardRead:   "Read the sticky card",
	model.RuleCardNew:    "Hang a new sticky card",
	model.RuleQuarantine: "Look before the quarantine ends",
	model.RuleMaintain:   "Look again after an outbreak",
	model.RuleBuy:        "Buy before it runs out",
	model.RuleMeasure:    "Photograph the leaf again",
}

// summary says what is to be done and where. Whoever keeps the calendar reads it, so
// it names places, and neither plants nor pests nor products.
func summary(b *model.Book, t *agenda.Task) string {
	deed := deeds[t.Key.Rule]
	if deed == "" {
		deed = "Look after plants"
	}
	var places []string
	for _, id := range t.Places {
		if p := b.Places[id]; p != nil && p.Name != "" {
			places = append(places, p.Name)
		}
	}
	if len(places) == 0 {
		return deed
	}
	return deed + ": " + strings.Join(places, ", ")
}

func details(t *agenda.Task) string {
	const more = "Leafturn has the amounts, the reasons and the cautions. The label and local rules go first."
	switch n := len(t.Plants); n {
	case 0:
		return more
	case 1:
		return "1 plant.\n" + more
	default:
		return fmt.Sprintf("%d plants.\n%s", n, more)
	}
}
