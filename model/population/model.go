package population

import (
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/model/lifecycle"
	"leafturn/model/refdata"
)

// Sizes of the inner arrays. A life is cut into youngBoxes boxes before the first
// egg where its spread allows, which is enough for the variance and quick.
const (
	maxBoxes   = 44
	maxStages  = 12
	youngBoxes = 14
	waitBoxes  = 3 // of those, for a long wait before the first egg
	layBoxes   = 4 // those of the adults; their spread is wide
)

// Hosts differ: the time factor is taken as normal around 1 with two standard
// deviations equal to the ±30 % of lifecycle, in hostLevels equally likely steps.
// What a female lays differs more between hosts (a study of one thrips on five
// leaves has rates of increase from 0.017 to 0.208 per day, ZHA2007): its factor
// is taken as lognormal with a standard deviation of 30 %, our judgement.
const (
	hostLevels   = 11 // an odd number, so that one of them is the ordinary host
	hostSpread   = (lifecycle.SlowHost - 1) / 2
	fertileSigma = 0.3
)

// capacities is how many animals one house plant feeds: laying falls to nothing
// towards it. It keeps forecasts of untreated plants in bounds. No source gives such a
// figure for a house plant; it is our judgement, from some thirty leaves with as many
// on each as on badly infested ones: 50 thrips, 200 mites, 100 aphids or whiteflies,
// 30 mealybugs or scales, and a pot of larvae.
var capacities = map[model.Pest]int{
	model.PestThrips: 1500, model.PestSpiderMite: 6000, model.PestBroadMite: 6000, model.PestAphid: 3000, model.PestWhitefly: 3000,
	model.PestMealybug: 1000, model.PestRootMealy: 1000, model.PestScale: 1000, model.PestFungusGnat: 1000,
}

// mostFed is for profiles of pests that are not on the list.
const mostFed = 6000

// CapacityOf is how many animals of a species one house plant feeds.
func CapacityOf(s refdata.Species) int {
	if n, ok := capacities[s.Pest()]; ok {
		return n
	}
	return mostFed
}

// Model is a species ready for forecasting. Nothing changes it, so it may be used
// by several at once.
type Model struct {
	Species refdata.Species
	stages  []stage
	size    int // boxes in all
	first   int // the first box of laying adults, where newcomers stand
	kinds   []*kind
	stageOf [maxBoxes]uint8
	asOf    [maxBoxes]uint8 // model.Stage

	capacity   float64
	firstSpent int // the first box of adults that lay no more
}

// stage is one stretch of the row of boxes.
type stage struct {
	as       model.Stage
	data     *refdata.Stage
	start    int
	boxes    int
	chance   float64 // least share of the movement that is left to chance
	clock    uint8   // what the rest goes by
	life     int     // number in lifecycle.Life
	ripening bool    // the adult before its first egg
	laying   bool    // the adult while it lays
	spent    bool    // the adult afterwards
}

// kind is a life with its host levels.
type kind struct {
	life  *lifecycle.Life
	hosts [hostLevels]*lifecycle.Life
}

// New makes the model of a species, of all kinds that it may turn out to be. It
// returns refdata.ErrSpecies for none.
func New(s refdata.Species) (*Model, error) {
	p, err := refdata.Get(s)
	if err != nil {
		return nil, fmt.Errorf("population model: %w", err)
	}
	var lives []*lifecycle.Life
	for _, k := range s.Kinds() {
		life, err := lifecycle.Of(k)
		if err != nil {
			return nil, fmt.Errorf("population model: %w", err)
		}
		lives = append(lives, life)
	}
	return build(&p, lives)
}

// FromProfile makes the model of a profile of one's own. The profile must not
// change afterwards.
func FromProfile(p *refdata.Profile) (*Model, error) {
	return build(p, []*lifecycle.Life{lifecycle.FromProfile(p)})
}

func build(p *refdata.Profile, lives []*lifecycle.Life) (*Model, error) {
	m := &Model{Species: p.Species, capacity: float64(CapacityOf(p.Species))}
	for _, life := range lives {
		if !complete(p, life) {
			return nil, fmt.Errorf("population model of %v: %w", p.Species, refdata.ErrSpecies)
		}
		k, err := newKind(life)
		if err != nil {
			return nil, fmt.Errorf("population model: %w", err)
		}
		m.kinds = append(m.kinds, k)
	}
	return m, m.cut(p)
}

// complete reports whether a profile has the figures a life cannot do without.
func complete(p *refdata.Profile, life *lifecycle.Life) bool {
	ok := len(p.Stages) > 0 && len(p.Stages) == life.Stages() && p.Spread.Central > 0 && p.Adult.Spread.Central > 0
	for i := range p.Stages {
		ok = ok && p.Stages[i].Constant.Central > 0 && p.Stages[i].Survival.Central > 0
	}
	return ok && p.Adult.Constant.Central > 0 && p.Adult.Laying.Central > 0
}

func newKind(life *lifecycle.Life) (*kind, error) {
	k := &kind{life: life}
	for i := range k.hosts {
		var err error
		if k.hosts[i], err = life.OnHost(hostFactor(i)); err != nil {
			return nil, err
		}
	}
	return k, nil
}

// hostFactor is the middle of one of the equally likely steps.
func hostFactor(level int) float64 {
	q := (float64(level) + 0.5) / hostLevels
	return 1 + hostSpread*math.Sqrt2*math.Erfinv(2*q-1)
}

// firstAdult is the first box of adults.
func (m *Model) firstAdult() int {
	for i := range m.size {
		if model.Stage(m.asOf[i]) == model.Adults {
			return i
		}
	}
	return m.size
}

// flies reports whether the adults fly.
func (m *Model) flies() bool {
	return m.stages[len(m.stages)-1].data.Where.Has(refdata.Air)
}
