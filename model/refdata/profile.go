package refdata

import (
	"slices"

	"leafturn/model"
)

// Where is a set of places in which a stage lives, as far as a treatment cares.
type Where uint8

// The places.
const (
	Tissue    Where = 1 << 0 // inside the leaf
	Leaf      Where = 1 << 1 // open on leaves and stems, mostly the undersides
	Folds     Where = 1 << 2 // in buds, flowers, folded growth, leaf joints
	Sheltered Where = 1 << 3 // under the mother's shell, in the egg sac, below its own hard shell
	Mix       Where = 1 << 4 // in the potting mix
	Air       Where = 1 << 5 // flies between plants
)

// Has reports whether all of x are in w.
func (w Where) Has(x Where) bool { return w&x == x }

// Way is a way of looking.
type Way uint8

// The ways of looking, also the indexes into Stage.Seen.
const (
	Eye  Way = 0 // naked eye, a look of about a minute at a plant
	Lens Way = 1 // a ten-fold lens on the same parts
	Tap  Way = 2 // leaves tapped over white paper
	Card Way = 3 // a sticky card beside the plant for a week
)

// Ways lists the ways of looking.
var Ways = []Way{Eye, Lens, Tap, Card}

// Level says how well a treatment reaches a stage when it is done well.
type Level uint8

// The levels.
const (
	Missed  Level = 0
	Partly  Level = 1
	Reached Level = 2
)

// Reach is a level and where it was read, in the way of Value.Source.
type Reach struct {
	Level  Level
	Source string
}

// Basis is how the level came about.
func (r Reach) Basis() Basis { return basis(r.Source) }

// Share is the share of animals of the stage that one good application reaches,
// before what the product does to those it reaches. The figures for the levels
// are from memory; only none is none.
func (l Level) Share() Value {
	switch l {
	case Reached:
		return is(Share, 0.5, 0.75, 0.95, "memory")
	case Partly:
		return is(Share, 0.1, 0.3, 0.5, "memory")
	default:
		return is(Share, 0, 0, 0, "derived")
	}
}

// Stage is one stage in the life of a species.
type Stage struct {
	Name     string       // "egg", "first larva", "pupa"
	As       model.Stage  // what a person counts it as
	Where    Where        // the places it lives in
	Parts    []model.Part // where to look for it, the likeliest first
	Lower    Value        // Celsius; no development below
	Constant Value        // degree-days above Lower that the stage takes
	Survival Value        // share that lives through it, untreated
	Reach    [7]Reach     // by model.Means
	Seen     [4]Value     // by Way: chance that one animal present is noticed in one look
}

// Adult is the last stage. Its Constant is the mean length of life in degree-days
// above its Lower, its Survival is not used.
type Adult struct {
	Stage
	PreLaying Value // degree-days above Lower before the first egg or birth
	Laying    Value // degree-days above Lower over which eggs are laid or young are born
	Young     Value // eggs or newborn in a whole life
	Female    Value // share of females among those that become adult
	Spread    Value // variation of the laying time between adults
}

// Fit is one paper's pair of threshold and constant for a span of the life.
type Fit struct {
	Span     string // "egg to adult"
	Lower    float64
	Constant float64
	Source   string
	Note     string // why it is not the pair we compute with
}

// Profile is what is known of a species.
type Profile struct {
	Species Species
	Stages  []Stage // from egg or newborn to the last before the adult, in order
	Adult   Adult
	Upper   Value // Celsius; development is no faster above it
	Lethal  Value // Celsius; at this constant temperature none becomes adult
	Spread  Value // variation of the time in one stage between animals
	Fits    []Fit // egg (or birth) to adult as papers give it; the first is the one we compute with
	Note    string
}

// seldom is the chance below which looking for a stage is not worth it even with a
// lens; our judgement.
const seldom = 0.2

// LookAt is where to look for the species: the two likeliest places of each stage that
// can be seen, in the order in which people look.
func (p *Profile) LookAt() []model.Part {
	var at model.PartSet
	note := func(s *Stage) {
		if s.Seen[Lens].Central >= seldom {
			at |= model.PartsOf(s.Parts[:min(2, len(s.Parts))]...)
		}
	}
	for i := range p.Stages {
		note(&p.Stages[i])
	}
	note(&p.Adult.Stage)
	var parts []model.Part
	for _, part := range model.Parts {
		if at.Has(part) {
			parts = append(parts, part)
		}
	}
	return parts
}

// Live reports whether the species bears living young instead of eggs.
func (p *Profile) Live() bool { return len(p.Stages) > 0 && p.Stages[0].As != model.Eggs }

// Get is the profile of a species, the caller's own copy.
func Get(s Species) (Profile, error) {
	if !s.Valid() {
		return Profile{}, ErrSpecies
	}
	if s == ThripsUnknown {
		return blend(ThripsUnknown, &profiles[WesternFlowerThrips], &profiles[OnionThrips]), nil
	}
	return profiles[s].clone(), nil
}

func (p *Profile) clone() Profile {
	c := *p
	c.Fits = slices.Clone(p.Fits)
	c.Stages = slices.Clone(p.Stages)
	for i := range c.Stages {
		c.Stages[i].Parts = slices.Clone(c.Stages[i].Parts)
	}
	c.Adult.Parts = slices.Clone(c.Adult.Parts)
	return c
}
