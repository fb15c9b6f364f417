package app

import (
	"math"
	"reflect"
	"slices"
	"strconv"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/dose"
	"leafturn/model/plan"
)

func tenths(f float64) int { return int(math.Round(f * 10)) }

// whyStep is why a step of a plan is on its day, in words; for every screen alike.
func (a *App) whyStep(b *model.Book, w *model.StepWhy) string {
	return a.t.Plans.Why(*w, productName(b, w.Product))
}

// whySteps is the whole chain of a step.
func (a *App) whySteps(b *model.Book, s *model.PlanStep) string {
	words := ""
	for i := range s.Why {
		if more := a.whyStep(b, &s.Why[i]); words == "" {
			words = more
		} else if more != "" {
			words += " " + more
		}
	}
	return words
}

// stepKinds are the pictures of steps.
var stepKinds = map[model.StepKind]screens.TaskKind{
	model.StepSpray: screens.TaskSpray, model.StepSoil: screens.TaskSpray, model.StepTryLeaf: screens.TaskSpray,
	model.StepRinse: screens.TaskByHand, model.StepWipe: screens.TaskByHand, model.StepLook: screens.TaskCheck,
}

func (a *App) plansView(b *model.Book, o *model.Outbreak, x *planning) screens.PlansView {
	v := screens.PlansView{Outbreak: o.ID.String(), Name: a.outbreakName(o), Plants: len(x.in.plants), Target: target, Problem: x.problem, Stopped: x.stopped,
		Choices: screens.PlanChoices{Children: x.in.wishes.Children, Pets: x.in.wishes.Pets, NoChemicals: x.in.wishes.NoChemicals},
		Aim:     a.t.Plans.Aim(a.t.Ahead.Percent(target), a.t.Format.Day(x.in.today.Add(plan.DefaultHorizon)))}
	if x.working {
		v.Progress = &screens.ProgressView{Done: x.done, Of: max(x.of, 100)}
	}
	if x.found == nil {
		return v
	}
	for _, goal := range []plan.Goal{plan.FewestSprays, plan.SoonestOver, plan.NoChemicals} {
		if card, ok := a.planCard(b, o, x, goal); ok {
			v.Plans = append(v.Plans, card)
		}
	}
	for _, h := range x.found.Held {
		v.Held = append(v.Held, a.t.Plans.Held(productName(b, h.Product), a.t.Format.Days(h.Label), a.t.Format.Days(h.Wanted), h.Guessed))
	}
	for _, r := range x.found.Refused {
		if r.Why != plan.TakenAway {
			v.Refused = append(v.Refused, a.t.Plans.Refused(productName(b, r.Product), r.Why, a.list(a.plantNames(b, r.Plants))))
		}
	}
	v.Cautions = a.planCautions(b, x.found)
	v.Basis = a.t.Ahead.Repeat(plan.Members, strconv.FormatUint(x.in.seed, 10))
	v.Assumptions = []string{a.warmthWords(&x.in), a.t.Plans.Subject(x.in.name), a.t.Forecast.Host, a.t.Plans.Alike, a.t.Plans.NoNewcomers}
	return v
}

// planCautions are those of every product that a plan uses, each once.
func (a *App) planCautions(b *model.Book, p *plan.Plan) []string {
	var out []string
	for _, o := range p.Options {
		for _, buy := range o.Buys {
			if product := b.Products[buy.Product]; product != nil {
				for _, words := range a.productCautions(product) {
					if !slices.Contains(out, words) {
						out = append(out, words)
					}
				}
			}
		}
	}
	return out
}

// planCard is one plan; false if there is none of its kind and nothing to say about
// that.
func (a *App) planCard(b *model.Book, o *model.Outbreak, x *planning, goal plan.Goal) (screens.PlanCard, bool) {
	p := a.t.Plans
	leads := map[plan.Goal]string{plan.FewestSprays: p.FewestLead, plan.SoonestOver: p.SoonestLead, plan.NoChemicals: p.NoChemLead}
	card := screens.PlanCard{Option: strconv.Itoa(int(goal)), Title: a.planTitle(goal), Lead: leads[goal]}
	first, option := optionFor(x.found, plan.FewestSprays), optionFor(x.found, goal)
	switch {
	case option != nil && goal == plan.SoonestOver && reflect.DeepEqual(first.Steps, option.Steps):
		card.Lead = p.Same
	case option != nil && !option.Reaches:
		card.Lead = p.Nearest
		if chance := a.t.Ahead.Percent(option.Utmost); chance != a.t.Ahead.Percent(option.Chance) {
			card.Lead = p.Utmost(chance)
		}
	case option == nil && first != nil: // none is over within the horizon
		card.Blocked, card.Relax = p.NoneReaches, a.relaxing(first)
		return card, true
	case option == nil:
		card.Blocked, card.Relax = p.NoTool, []string{p.RelaxBy(plan.LimitShelf)}
		return card, goal == plan.FewestSprays && !x.in.wishes.NoChemicals
	}
	a.fillCard(b, x, option, &card)
	card.Accepted = a.isAccepted(b, o, x, option)
	return card, true
}

func optionFor(p *plan.Plan, goal plan.Goal) *plan.Option {
	for i := range p.Options {
		if p.Options[i].Goal == goal {
			return &p.Options[i]
		}
	}
	return nil
}

func (a *App) fillCard(b *model.Book, x *planning, o *plan.Option, card *screens.PlanCard) {
	card.Chance, card.Count = o.Chance, a.t.Plans.Count(o.Sprays, o.Washes, workDays(o))
	if o.Over != 0 {
		card.Over = a.t.Format.Day(o.Over)
	}
	var days []dated
	for i := range o.Steps {
		s := stepOf(&o.Steps[i])
		if s.Kind != model.StepLook {
			card.Last = a.t.Format.Day(s.Day)
		}
		days = append(days, dated{s.Day, s.Kind, screens.CourseDay{Date: a.t.Format.Day(s.Day), Kind: stepKinds[s.Kind],
			What: a.t.Plans.Step(s.Kind, len(x.in.plants), productName(b, s.Product)), Why: a.whySteps(b, &s)}})
	}
	card.Dates = a.together(days)
	for _, buy := range o.Buys {
		a.addBuy(b, buy, card)
	}
	for _, bound := range o.Bound {
		words := a.t.Plans.Limit(bound.Limit)
		if bound.Chance > 0 {
			words = a.t.Plans.Without(words, a.t.Ahead.Percent(bound.Chance))
		}
		card.Limits = append(card.Limits, words)
	}
	card.Relax = a.relaxing(o)
}

// workDays is on how many days a plan asks for something, looks among them.
func workDays(o *plan.Option) int {
	days := map[model.Date]bool{}
	for _, s := range o.Steps {
		days[s.Day] = true
	}
	return len(days)
}

// relaxing is what could be changed so that a plan would do more.
func (a *App) relaxing(o *plan.Option) []string {
	var out []string
	for _, bound := range o.Bound {
		if words := a.t.Plans.RelaxBy(bound.Limit); !slices.Contains(out, words) {
			out = append(out, words)
		}
	}
	return out
}

// addBuy says what a plan takes of a product, what is there, and by when more must be.
func (a *App) addBuy(b *model.Book, buy plan.Buy, card *screens.PlanCard) {
	p := b.Products[buy.Product]
	if p == nil {
		return
	}
	f := a.t.Plans
	if buy.Batch.All.Millionths == 0 {
		card.Needed = a.t.Common.Dotted(card.Needed, f.NoAmount(p.Name))
		return
	}
	card.Needed = a.t.Common.Dotted(card.Needed, f.Of(a.amount(buy.Batch.All), p.Name))
	if p.StockMilli == 0 {
		card.Shelf = a.t.Common.Dotted(card.Shelf, f.NoStock)
	} else {
		card.Shelf = a.t.Common.Dotted(card.Shelf, f.Of(a.amount(buy.Batch.Stock), p.Name))
	}
	if !buy.Enough {
		card.BuyBy = append(card.BuyBy, f.BuyBy(a.t.Format.Day(buy.By), f.Of(a.amount(atLeast(buy.Batch.Short)), p.Name)))
	}
}

// atLeast is an amount as a person buys it: rounded up to what Measured shows, so
// that it is not too little.
func atLeast(x dose.Amount) dose.Amount {
	shown := x.Measured()
	if shown.Millionths == x.Millionths {
		return x
	}
	step := int64(1)
	for x.Millionths/step >= 1000 {
		step *= 10
	}
	shown.Millionths += step
	return shown
}

// isAccepted reports whether an option is the plan that rules.
func (a *App) isAccepted(b *model.Book, o *model.Outbreak, x *planning, option *plan.Option) bool {
	plans := b.Plans(o.ID)
	if len(plans) == 0 {
		return false
	}
	ruling := plans[len(plans)-1].Body.(*model.PlanAccepted)
	return reflect.DeepEqual(x.accepted(option, ruling.Plan), ruling)
}

func (a *App) warmthWords(in *history) string {
	words := a.t.Forecast.Warmth
	if in.assumed {
		words = a.t.Forecast.NoWarmth
	}
	return words(in.place, a.t.Ahead.Celsius(in.coldest), a.t.Ahead.Celsius(in.warmest))
}

// doubt is how far below its aim the chance of a plan may fall before another one is
// proposed. Between two days it wanders by a few hundredths for no reason that would
// help anybody: a household that is told to change its plan every evening follows
// none. Our judgement.
const doubt = 0.05

// proposal says that the plan that rules no longer does what it was taken for, nil
// while it does and nothing was counted that it was not made for. A plan that never reached the aim is held against its own chance.
func (a *App) proposal(in *history, out *outlook) *screens.ProposalView {
	if out.verdict == nil || in.accepted == nil {
		return nil
	}
	was := float64(in.accepted.Chance) / 1000
	target := float64(in.accepted.Target) / 1000
	if out.verdict.Chance >= min(was, target)-doubt && !out.beyond {
		return nil
	}
	v := &screens.ProposalView{Title: a.t.Plans.ProposalTitle, Reason: a.t.Plans.ProposalKnown, Was: was, Now: out.verdict.Chance}
	if out.verdict.Reaches {
		v.Title = a.t.Plans.ProposalMore
	}
	if n := len(in.counts); n > 0 && in.counts[n-1].Day >= in.since && in.counts[n-1].Animals > 0 {
		v.Reason = a.t.Plans.ProposalCounted(strconv.Itoa(in.counts[n-1].Animals), a.t.Format.Day(in.counts[n-1].Day))
	} else if in.late > 0 {
		v.Reason = a.t.Plans.ProposalLate(in.late)
	}
	return v
}
