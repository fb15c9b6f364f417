package app

import (
	"cmp"
	"context"
	"math/bits"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/identify"
)

// What is asked and shown when a finding is looked at closely.
const (
	mostSuspects  = 4
	mostQuestions = 3
	leastSuspect  = 0.03 // a pest below this chance is not named
	likelyEnough  = 0.35 // a pest above it is offered first when an outbreak is opened
)

// keySigns are the signs of the form as the key knows them.
var keySigns = func() map[model.Signs]identify.Set {
	out := map[model.Signs]identify.Set{}
	for _, s := range texts.Signs {
		look := &model.Inspection{Findings: []model.Finding{{Part: model.Underside, Signs: s}}}
		out[s] = identify.FromInspection(look).Seen
	}
	return out
}()

// asked are answers about signs that were looked for: seen, or not there.
type asked map[model.Signs]string

// observed is what a look and the answers show together.
func observed(look *model.Inspection, answers asked) identify.Observation {
	o := identify.FromInspection(look)
	for sign, answer := range answers {
		switch answer {
		case screens.AnswerSeen:
			o.Seen |= keySigns[sign]
			o.Absent &^= keySigns[sign]
		case screens.AnswerAbsent:
			o.Absent |= keySigns[sign] &^ o.Seen
		}
	}
	return o
}

// identifyView says what the plant may have, and what to look at next. It is nil if
// the key cannot make anything of what was noted.
func (a *App) identifyView(look *model.Inspection, answers asked) *screens.IdentifyView {
	v := &screens.IdentifyView{Plant: look.Plant.String()}
	o := observed(look, answers)
	if o.Seen == 0 && o.Absent == 0 {
		return v
	}
	chances, err := identify.Posterior(identify.CommonPrior(), o)
	if err != nil {
		return nil
	}
	known := 0.0
	for _, pest := range model.Pests {
		if p := chances.Pest(pest); pest != model.PestUnknown {
			known += p
			if p >= leastSuspect {
				v.Suspects = append(v.Suspects, screens.Suspect{Name: a.t.Words.Pest[pest], Chance: p, Why: a.suspicion(chances, o, pest)})
			}
		}
	}
	slices.SortFunc(v.Suspects, func(x, y screens.Suspect) int { return cmp.Compare(y.Chance, x.Chance) })
	v.Suspects = v.Suspects[:min(len(v.Suspects), mostSuspects)]
	v.None = 1 - known
	v.Ask = a.questions(o, answers)
	return v
}

// suspicion names the signs that speak for a pest.
func (a *App) suspicion(chances identify.Chances, o identify.Observation, pest model.Pest) string {
	for _, cause := range chances.Ranked() {
		if cause.Pest() != pest {
			continue
		}
		reasons, err := identify.Why(identify.CommonPrior(), o, cause)
		if err != nil {
			return ""
		}
		var signs model.Signs
		for _, r := range reasons {
			if r.Seen && r.Bits > 0 {
				signs |= signOf(r.Sign)
			}
		}
		return a.t.Format.Signs(signs)
	}
	return ""
}

// signOf is the form's sign that stands for one of the key's, 0 if there is none.
func signOf(s identify.Sign) model.Signs {
	for sign, set := range keySigns {
		if set.Has(s) {
			return sign
		}
	}
	return 0
}

// questions are the signs that would tell the suspects apart best. Those answered
// already stay, so that an answer can be changed.
func (a *App) questions(o identify.Observation, answers asked) []screens.Question {
	var out []screens.Question
	for _, sign := range texts.Signs {
		if answer := answers[sign]; answer != "" {
			out = append(out, screens.Question{Sign: sign, Words: a.t.Words.Sign[sign], Answer: answer})
		}
	}
	var among identify.Set
	for _, sign := range texts.Signs {
		if set := keySigns[sign]; bits.OnesCount64(uint64(set)) == 1 {
			among |= set
		}
	}
	next, err := identify.Next(identify.CommonPrior(), o, among, mostQuestions)
	if err != nil {
		return out
	}
	for _, q := range next {
		if sign := signOf(q.Sign); sign != 0 && answers[sign] == "" {
			out = append(out, screens.Question{Sign: sign, Words: a.t.Words.Sign[sign]})
		}
	}
	return out
}

// likeliest is the pest to offer first, PestUnknown if nothing stands out.
func likeliest(look *model.Inspection, answers asked) model.Pest {
	o := observed(look, answers)
	chances, err := identify.Posterior(identify.CommonPrior(), o)
	if err != nil || o.Seen == 0 {
		return model.PestUnknown
	}
	best := model.PestUnknown
	for _, pest := range model.Pests {
		if pest != model.PestUnknown && chances.Pest(pest) >= likelyEnough && (best == model.PestUnknown || chances.Pest(pest) > chances.Pest(best)) {
			best = pest
		}
	}
	return best
}

// askedIn reads the answers that a form holds.
func askedIn(d Data) asked {
	answers := asked{}
	for _, sign := range texts.Signs {
		if answer := d.Get(screens.AskedName(sign)); answer == screens.AnswerSeen || answer == screens.AnswerAbsent {
			answers[sign] = answer
		}
	}
	return answers
}

// identify answers while a finding is being noted.
func (a *App) identify(_ context.Context, e Event) Answer {
	look, _ := readLook(e.Data, id[model.Plant](e.Data, "plant"))
	v := a.identifyView(look, askedIn(e.Data))
	if v == nil {
		return Answer{}
	}
	return Answer{Swaps: []Swap{a.swap(screens.IDIdentify, screens.Identify(a.t, *v))}}
}

// lookedFor takes an answer about a sign of the finding that was just saved. It
// narrows down what the plant may have; the saved look stays as it was written.
func (a *App) lookedFor(ctx context.Context, e Event) Answer {
	if a.after == nil {
		return Answer{}
	}
	if a.after.answers == nil {
		a.after.answers = asked{}
	}
	a.after.answers[model.Signs(e.Data.Int("sign"))] = e.Data.Get("answer")
	answer := a.showAfter(ctx)
	answer.Top, answer.Focus = false, ""
	return answer
}
