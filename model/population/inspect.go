package population

import (
	"leafturn/model"
	"leafturn/model/refdata"
)

// usualEffort is the share of a plant that a person looks at in a usual look of a
// minute; our judgement.
const usualEffort = 0.5

// LookOf makes evidence of an inspection. An inspection that names signs without
// counting says only that the pest was there. One that found nothing is taken as a
// look all over the plant, with the naked eye.
func LookOf(x *model.Inspection, day int) Look {
	l := Look{Day: day, Way: refdata.Eye, Effort: usualEffort}
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
