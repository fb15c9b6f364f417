package texts

import (
	"strings"

	"leafturn/model"
	"leafturn/model/plan"
)

// enPlanLimits are the words for what a search for plans answers with.
func enPlanLimits(c *Catalogue) {
	p := &c.Plans
	p.Both = func(byHand model.StepKind, spray string) string {
		verb := map[model.StepKind]string{model.StepRinse: "Rinse", model.StepWipe: "Wipe"}[byHand]
		return strings.Replace(spray, "Spray", verb+" and spray", 1)
	}
	p.Step, p.Why, p.Held, p.Refused = enStep, enStepWhy, enHeld, enRefused
	p.Limit = func(l plan.Limit) string { return enLimits[l] }
	p.RelaxBy = func(l plan.Limit) string { return enRelax[l] }
	p.Without = func(limit, chance string) string { return limit + " Without it the chance would be " + chance + "." }
}

func enStep(kind model.StepKind, plants int, product string) string {
	on := count(plants, "plant", "plants")
	switch kind {
	case model.StepSpray:
		return "Spray " + on + ": " + product
	case model.StepSoil:
		return "Treat the potting mix of " + on + ": " + product
	case model.StepRinse:
		return "Rinse " + on
	case model.StepWipe:
		return "Wipe " + on
	case model.StepTryLeaf:
		return "Try one leaf: " + product
	}
	return "Look at " + on
}

// enStepWhy is why a step is on its day, in a sentence.
func enStepWhy(w model.StepWhy, product string) string {
	days, wanted, day := count(w.Days, "day", "days"), count(w.Wanted, "day", "days"), enDay(w.Date)
	celsius := tenth(float64(w.TenthsCelsius)/10) + " °C"
	switch plan.Because(w.Because) {
	case plan.FirstPossible:
		return "Nothing stands in the way from " + day + " on."
	case plan.OneLeafFirst:
		return "A plant is sensitive: one leaf is tried on " + day + ", " + days + " before."
	case plan.LeafToTry:
		return "If this leaf stays sound, the spray follows " + days + " later."
	case plan.CatchesYoung:
		return "At " + celsius + " the young can be reached for " + days + " after " + day + " (" + tenth(float64(w.TenthsDegreeDays)/10) +
			" degree-days above " + tenth(float64(w.TenthsLower)/10) + " °C)."
	case plan.LabelGap:
		return "The label asks for " + days + " between two treatments" + wantedWords(w.Wanted, wanted) + "."
	case plan.PracticeGap:
		return "The label’s shortest time is not entered: " + days + " is common practice" + wantedWords(w.Wanted, wanted) + "."
	case plan.NotInHeat:
		return "It would be " + day + ", but that day is warmer than " + celsius + "."
	case plan.PlantsUntouched:
		return "It would be " + day + ", but plants may not be touched for " + count(w.Hours, "hour", "hours") + " after a treatment."
	}
	return enStepMore(w, days, wanted, day, product)
}

func enStepMore(w model.StepWhy, days, wanted, day, product string) string {
	switch plan.Because(w.Because) {
	case plan.Bridges:
		return "The label holds the next spray back for " + days + ". Water takes off the young of the " + wanted + " since the last treatment."
	case plan.BeforeSpray:
		return "Water takes off what it can. Spray when the leaves are dry."
	case plan.RestsInMix:
		return "A resting stage sits in the potting mix, where no spray reaches it."
	case plan.WorksFrom:
		return "Roots take it up: it works from " + day + ", about " + days + " later."
	case plan.Again:
		return "What was given on " + day + " has worn off after " + days + "."
	case plan.OtherGroup:
		return "Another mode of action: group " + w.Group + " has been in use for " + days + ", about one generation."
	case plan.SeasonFull:
		return "The label allows " + product + " " + count(w.Count, "time", "times") + " in a season, and that is reached."
	case plan.LookAfter:
		return "The effect of the treatment on " + day + " shows " + days + " later."
	case plan.ShouldBeOver:
		return "By " + day + " the chance that it is over reaches the aim."
	case plan.WaitsForOther:
		return "Every product had to wait until this day, by its label or by what was used before."
	case plan.LongestGap:
		return "A gap of " + days + " is the longest that still reaches the aim, and takes the fewest treatments."
	case plan.ShorterGap:
		return "After " + days + " instead of " + wanted + ", so that young that were only half caught are met again."
	}
	return ""
}

func wantedWords(n int, wanted string) string {
	if n <= 0 {
		return ""
	}
	return "; the pest would want " + wanted
}

func enHeld(product, label, wanted string, guessed bool) string {
	words := "The label of " + product + " asks for " + label
	if guessed {
		words = "The label’s shortest time is not entered for " + product + ", so " + label + " stand in, which is common practice"
	}
	return words + ". At this warmth the young grow up faster: " + wanted + " would be wanted. The label wins; where it helps, rinsing or wiping fills the time in between."
}

var enLimits = map[plan.Limit]string{
	plan.LimitInterval: "The shortest time between sprays on the label keeps sprays apart.",
	plan.LimitSeason:   "The label’s most in one season is reached.",
	plan.LimitRotation: "A mode of action must rest, or was used as often in a row as the label or good practice allows.",
	plan.LimitHeat:     "Some days are too warm for what is on the shelf.",
	plan.LimitReentry:  "Plants may not be touched yet after what was done before.",
	plan.LimitFood:     "You eat from one of the plants, and the label names no food plants.",
	plan.LimitWishes:   "What you chose above rules products out.",
	plan.LimitHorizon:  "There are too few days until the day it should be over.",
	plan.LimitShelf:    "What stands on the shelf does not do more.",
}

// enRelax is what could be changed about a limit. None of it breaks a label.
var enRelax = map[plan.Limit]string{
	plan.LimitInterval: "Use another product besides it, whose label allows a shorter time.",
	plan.LimitSeason:   "Use a second product with another mode of action.",
	plan.LimitRotation: "Use a second product with another mode of action.",
	plan.LimitHeat:     "Move the plants to a cooler place for the day of the spray.",
	plan.LimitReentry:  "Wait until the time on the label is over.",
	plan.LimitFood:     "Use a product whose label names food plants, or treat the plants you eat from by hand.",
	plan.LimitWishes:   "Change what you chose above, if it can be.",
	plan.LimitHorizon:  "Give it more weeks.",
	plan.LimitShelf:    "Put a product on the shelf whose label names this pest and indoor plants.",
}

var enRefusals = map[plan.Refused]string{
	plan.PestNotNamed:   "its label names other pests.",
	plan.PestExcluded:   "its label says that it is not for this pest.",
	plan.PestsNotSaid:   "the pests on its label are not entered.",
	plan.SiteNotSaid:    "nothing entered says that its label allows it on plants indoors.",
	plan.SiteExcluded:   "its label rules plants indoors out.",
	plan.NotForFood:     "its label names no food plants, and you eat from",
	plan.WishNoChemical: "you chose nothing from a bottle.",
	plan.WishChildren:   "it goes through the roots, and small children live here.",
	plan.WishPets:       "it goes through the roots, and animals can reach the plants.",
	plan.ReachesNothing: "it reaches no stage of this pest.",
	plan.GroupUnread:    "its mode-of-action group cannot be read.",
	plan.GroupMissing:   "its mode-of-action group is not entered.",
	plan.TakenAway:      "it is no longer on the shelf.",
}

func enRefused(product string, why plan.Refused, plants string) string {
	words := product + ": " + enRefusals[why]
	if why == plan.NotForFood {
		words += " " + plants + "."
	}
	return words
}

// lowerFirst is a sentence as it goes on after a colon.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
