package agenda

import (
	"cmp"

	"leafturn/model"
	"leafturn/model/dose"
)

// CautionKind is what to mind before a task.
type CautionKind uint8

// The cautions, in the order in which they are shown.
const (
	LabelFirst        CautionKind = 1  // the label, local rules and licensed advice go before all else
	ReentryRunning    CautionKind = 2  // Plants must not be touched before Until, because of Fact
	EdibleNotOnLabel  CautionKind = 3  // Plants are eaten, and the label does not name food plants
	SeasonReached     CautionKind = 4  // a plant had Count applications in the last SeasonDays, the label's most
	SprayedLately     CautionKind = 5  // Fact was closer to this day than the plan's steps are to each other this day
	RateNotEntered    CautionKind = 6  // the label's rate has not been entered
	IntervalNotKnown  CautionKind = 7  // the label's shortest interval has not been entered
	GlovesAndAir      CautionKind = 8  // gloves, eye cover, an open window
	ChildrenAndPets   CautionKind = 9  // keep children, pets, food and fish away until dry
	HotOrSunny        CautionKind = 10 // not on a hot or sunny day, not on a thirsty plant; Celsius is the label's own limit or 0
	OneLeafFirst      CautionKind = 11 // Plants are sensitive: one leaf, then wait a day or two
	BeesIfOutdoors    CautionKind = 12 // no bee may reach the plants afterwards; Plants go out
	CleanHandsBetween CautionKind = 13 // looking at affected plants: clean ones first
	OnDryMix          CautionKind = 14 // only into dry mix; Plants were watered by Fact less than WetFor days ago, none if nobody noted it
	ThenWaterIn       CautionKind = 15 // water it in, and then let no water run out of the pot for Days days or Count waterings, whichever is longer
	NotBoneDry        CautionKind = 16 // not on bone-dry mix: water first
	HoldWater         CautionKind = 17 // no water may run out of the pots of Plants before Date, because of Fact
	NowTooWarm        CautionKind = 18 // it is Tenths warm there, by Fact or the place's record, and the label says not above Celsius
)

// Caution is one thing to mind, with what stands behind it.
type Caution struct {
	Kind    CautionKind
	Plants  []model.PlantID
	Until   model.Instant
	Fact    *model.Fact
	Date    model.Date
	Days    int
	Count   int
	Celsius int
	Tenths  int
}

// cautions gathers what to mind for a task, which uses a product or none, and what
// was applied of it before, which only a step knows that is an application.
func (l *ledger) cautions(t *Task, p *model.Product, a *applied) []Caution {
	var all []Caution
	if p != nil {
		all = append(all, Caution{Kind: LabelFirst})
	}
	all = append(all, l.reentryCautions(t)...)
	if t.Key.Rule == model.RuleRound || t.Key.Rule == model.RuleCheck {
		all = append(all, l.waterCautions(t)...)
	}
	switch {
	case p != nil:
		all = append(all, l.limitCautions(t, p, a)...)
		all = append(all, l.useCautions(t.Plants, p)...)
	case t.Key.Rule == model.RuleCheck || t.Key.Rule == model.RuleMaintain:
		all = append(all, Caution{Kind: CleanHandsBetween})
	}
	return all
}

// waterCautions are for whoever is near the plants with a watering can.
func (l *ledger) waterCautions(t *Task) []Caution {
	c := Caution{Kind: HoldWater}
	for _, p := range t.Plants {
		if s, ok := l.soaks[p]; ok {
			c.Plants = append(c.Plants, p)
			if s.until > c.Date {
				c.Date, c.Fact = s.until, s.by
			}
		}
	}
	if len(c.Plants) == 0 {
		return nil
	}
	return []Caution{c}
}

// mixCautions are about how wet the potting mix must be for what goes into it.
func (l *ledger) mixCautions(plants []model.PlantID, p *model.Product) []Caution {
	switch p.Means {
	case model.MeansSoilDrench:
		return []Caution{{Kind: NotBoneDry}}
	case model.MeansSystemicSoil:
		c := Caution{Kind: OnDryMix}
		c.Plants, c.Fact = l.wet(plants)
		return []Caution{c, {Kind: ThenWaterIn, Days: RunDays, Count: RunWaterings}}
	}
	return nil
}

// wet gives the plants that were watered less than WetFor days ago, and the last such
// watering.
func (l *ledger) wet(plants []model.PlantID) (on []model.PlantID, by *model.Fact) {
	for _, id := range plants {
		if f := l.lastWatered(id); f != nil && l.today.Sub(l.date(f)) < WetFor {
			on, by = append(on, id), later(by, f)
		}
	}
	return on, by
}

// heatCaution is about the warmest of the places where plants stand.
func (l *ledger) heatCaution(plants []model.PlantID, p *model.Product) (Caution, bool) {
	c := Caution{Kind: NowTooWarm, Celsius: p.MaxCelsius}
	for _, id := range plants {
		x := l.book.Plants[id]
		if x == nil || p.MaxCelsius == 0 {
			continue
		}
		if tenths, by, ok := l.warmest(x.Place); ok && tenths > p.MaxCelsius*10 {
			c.Plants = append(c.Plants, id)
			if tenths > c.Tenths {
				c.Tenths, c.Fact = tenths, by
			}
		}
	}
	return c, len(c.Plants) > 0
}

// reentryCautions are for the day of the task: a time that will have run out by
// then is no matter.
func (l *ledger) reentryCautions(t *Task) []Caution {
	if len(l.reentry) == 0 {
		return nil
	}
	from := max(l.now, t.When().Start(l.zone))
	c := Caution{Kind: ReentryRunning}
	for _, p := range t.Plants {
		if h := l.reentry[p]; h.until > from {
			c.Plants = append(c.Plants, p)
			if h.until > c.Until {
				c.Until, c.Fact = h.until, h.by
			}
		}
	}
	if len(c.Plants) == 0 {
		return nil
	}
	return []Caution{c}
}

// limitCautions are about the figures of the label, known or not.
func (l *ledger) limitCautions(t *Task, p *model.Product, a *applied) []Caution {
	var all []Caution
	if a != nil && p.MaxPerSeason > 0 && a.most >= p.MaxPerSeason {
		all = append(all, Caution{Kind: SeasonReached, Count: a.most})
	}
	before, after := gaps(t.Plan, t.Key)
	if a != nil && a.last != nil && !t.Projected && t.When().Sub(a.lastDay) < cmp.Or(before, after) {
		all = append(all, Caution{Kind: SprayedLately, Fact: a.last})
	}
	if p.Means == model.MeansWater {
		return all
	}
	if t.Mix.Kind == dose.NotEntered {
		all = append(all, Caution{Kind: RateNotEntered})
	}
	if p.MinInterval == 0 {
		all = append(all, Caution{Kind: IntervalNotKnown})
	}
	return all
}

// useCautions are about how the product works and which plants it goes on.
func (l *ledger) useCautions(plants []model.PlantID, p *model.Product) []Caution {
	if p.Means == model.MeansWater {
		return nil
	}
	var all []Caution
	add := func(kind CautionKind, on []model.PlantID) {
		if len(on) > 0 {
			all = append(all, Caution{Kind: kind, Plants: on})
		}
	}
	if !p.EdibleAllowed {
		add(EdibleNotOnLabel, l.those(plants, func(x *model.Plant) bool { return x.Edible }))
	}
	all = append(all, Caution{Kind: GlovesAndAir}, Caution{Kind: ChildrenAndPets})
	all = append(all, l.mixCautions(plants, p)...)
	if c, ok := l.heatCaution(plants, p); ok {
		all = append(all, c)
	} else if sprayed(p.Means) || p.MaxCelsius > 0 {
		all = append(all, Caution{Kind: HotOrSunny, Celsius: p.MaxCelsius})
	}
	add(OneLeafFirst, l.those(plants, func(x *model.Plant) bool { return x.Sensitive }))
	outdoors := l.those(plants, func(x *model.Plant) bool { return l.hands[x.ID].IsOut() })
	if len(outdoors) > 0 || !shortLived(p.Means) {
		all = append(all, Caution{Kind: BeesIfOutdoors, Plants: outdoors})
	}
	return all
}

// sprayed reports whether a product of these means wets the leaves. An unknown one may.
func sprayed(m model.Means) bool { return m != model.MeansSystemicSoil && m != model.MeansSoilDrench }

// shortLived reports whether nothing that harms a bee is left once the product is dry.
func shortLived(m model.Means) bool { return m == model.MeansSoap || m == model.MeansOil }

// those gives the plants that have a trait.
func (l *ledger) those(plants []model.PlantID, has func(*model.Plant) bool) []model.PlantID {
	var ids []model.PlantID
	for _, id := range plants {
		if p := l.book.Plants[id]; p != nil && has(p) {
			ids = append(ids, id)
		}
	}
	return ids
}

// atLimit gives the most applications that any of the plants had this season, and
// the plants that had as many as the label allows.
func (l *ledger) atLimit(p *model.Product, plants []model.PlantID) (most int, full []model.PlantID) {
	uses := l.season(p.ID, plants)
	for _, id := range plants {
		most = max(most, uses[id])
		if uses[id] >= p.MaxPerSeason {
			full = append(full, id)
		}
	}
	return most, full
}
