package population

import (
	"leafturn/model"
	"leafturn/model/refdata"
)

// usualEffort is the share of what was looked at that a person really sees in a usual
// look of a minute; our judgement.
const usualEffort = 0.5

// ways are how an aid of the eye looks at a plant.
var ways = map[model.Aid]refdata.Way{model.NakedEye: refdata.Eye, model.Lens: refdata.Lens, model.PaperTap: refdata.Tap}

// LookOf makes evidence of an inspection, on a day of a climate. One that names signs
// without counting says only that the pest was there. Where nobody said which parts
// were looked at, it is taken as a look all over the plant.
func LookOf(x *model.Inspection, day int) Look {
	l := Look{Day: day, Way: ways[x.Aid], Effort: usualEffort}
	for _, p := range model.Parts {
		if x.Looked.Has(p) {
			l.Parts = append(l.Parts, p)
		}
	}
	for _, f := range x.Findings {
		for s, n := range f.Counts {
			l.Counts[s] += int(n)
		}
	}
	if x.Found() && l.Counts == (Animals{}) {
		l.Uncounted = true
		l.Counts[model.Young] = 1
	}
	return l
}
