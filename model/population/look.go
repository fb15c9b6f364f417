package population

import (
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/model/refdata"
)

// ErrLook is returned for an inspection that cannot have been: negative counts, no
// part of the plant looked at, an unknown way of looking.
var ErrLook = fault.New("look_impossible", "This inspection cannot be right: check its counts and what was looked at.")

// Look is an inspection as evidence, made at the start of a day, before that day's
// treatments.
type Look struct {
	Day    int
	Way    refdata.Way
	Parts  []model.Part // what was looked at; none means the whole plant
	Effort float64      // share of those parts looked at, above 0 and at most 1
	Counts Animals      // animals counted, by stage
	// Uncounted says that somebody saw that the pest is there, or is not, without
	// counting; then only whether Counts are all zero matters.
	Uncounted bool
}

// Counts of animals are clustered: one leaf has many and the next has none. The
// size of the negative binomial says how much; 2 is our judgement. Mistaken is the
// mean number that a person counts of something else.
const (
	clustering = 2.0
	mistaken   = 0.02
	mostCount  = 100_000
)

// Check returns ErrLook for a look that cannot have been.
func (l *Look) Check() error {
	if l.Day < 0 || l.Day > MaxDays || l.Way > refdata.Card || !(l.Effort > 0 && l.Effort <= 1) {
		return ErrLook
	}
	for _, n := range l.Counts {
		if n < 0 || n > mostCount {
			return ErrLook
		}
	}
	return nil
}

// sight is a look made ready: the share of each stage that it would show.
type sight struct {
	seen   [maxStages]float64
	counts Animals
	fixed  float64 // the part of the likelihood that all members share
	found  bool
	plain  bool // not counted
}

func (m *Model) sight(l *Look) sight {
	s := sight{counts: l.Counts, plain: l.Uncounted}
	for i := range m.stages {
		st := &m.stages[i]
		s.seen[i] = st.data.Seen[l.Way].Central * l.Effort
		if len(l.Parts) > 0 && l.Way != refdata.Card {
			s.seen[i] *= cover(st.data.Parts, l.Parts)
		}
	}
	for _, n := range l.Counts {
		s.found = s.found || n > 0
		s.fixed += logGamma(float64(n)+clustering) - logGamma(clustering) - logGamma(float64(n)+1)
	}
	return s
}

func logGamma(x float64) float64 {
	y, _ := math.Lgamma(x)
	return y
}

// weigh is the logarithm of how likely the look is for a member.
func (m *Model) weigh(s *sight, x *Member) float64 {
	mean := m.shown(s, x)
	if s.plain {
		return plainly(mean, s.found)
	}
	sum := s.fixed
	for i, mu := range mean {
		mu += mistaken / 4
		sum += clustering*math.Log(clustering/(clustering+mu)) + float64(s.counts[i])*math.Log(mu/(clustering+mu))
	}
	return sum
}

// perStage is a mean number by the stages that a person can tell apart.
type perStage [4]float64

// See draws what a look would count in a member, by the same rules as Take weighs:
// for simulated outbreaks.
func (c *Cloud) See(l Look, member int, r *Rand) Look {
	s := c.model.sight(&l)
	mean := c.model.shown(&s, &c.members[member])
	for i, mu := range mean {
		// A Poisson count whose mean is gamma distributed is a negative binomial one.
		gamma := 0.0
		for range int(clustering) {
			gamma -= math.Log(1-r.Float64()) / clustering
		}
		l.Counts[i] = int(r.Poisson((mu + mistaken/4) * gamma))
	}
	return l
}

// shown is the mean number that a look shows of a member, by stage.
func (m *Model) shown(s *sight, x *Member) perStage {
	var n [maxStages]int32
	m.ages(x, &n)
	var mean perStage
	for i := range m.stages {
		mean[m.stages[i].as] += float64(n[i]) * s.seen[i]
	}
	return mean
}

// plainly is the same for a look that says only whether something was there.
func plainly(mean perStage, found bool) float64 {
	none := 0.0
	for _, mu := range mean {
		none += clustering * math.Log(clustering/(clustering+mu+mistaken/4))
	}
	if found {
		return math.Log(-math.Expm1(none))
	}
	return none
}

// Take takes a look in: members that make it likely are kept and copied, the
// others go. It gives the likelihood of the look, averaged over the cloud. The
// cloud must have lived to the day of the look.
func (c *Cloud) Take(l Look) (float64, error) {
	if err := l.Check(); err != nil {
		return 0, err
	}
	if l.Day != c.day {
		return 0, fmt.Errorf("look on day %d, cloud on day %d: %w", l.Day, c.day, ErrOrder)
	}
	s := c.model.sight(&l)
	if c.weights == nil {
		c.weights = make([]float64, len(c.members))
	}
	best := math.Inf(-1)
	for i := range c.members {
		c.weights[i] = c.model.weigh(&s, &c.members[i])
		best = max(best, c.weights[i])
	}
	sum, squares := 0.0, 0.0
	for i, w := range c.weights {
		w = math.Exp(w - best)
		c.weights[i] = w
		sum += w
		squares += w * w
	}
	c.effective = min(c.effective, sum*sum/squares)
	c.resample(sum)
	return math.Exp(best) * sum / float64(len(c.members)), nil
}

// Effective is how many members the look that was hardest to explain has left in effect:
// the square of the sum of the weights over the sum of their squares (from memory). Where
// it is small, a few members and their copies stand for all, and what they say is
// chance: more members are needed.
func (c *Cloud) Effective() float64 { return c.effective }

// AtLeast is how likely a look is to count as many animals as it did, or more, by what
// the cloud holds before it takes the look in.
func (c *Cloud) AtLeast(l Look) (float64, error) {
	if err := l.Check(); err != nil {
		return 0, err
	}
	if l.Day != c.day {
		return 0, fmt.Errorf("look on day %d, cloud on day %d: %w", l.Day, c.day, ErrOrder)
	}
	reached := 0
	for i := range c.members {
		r := Stream(^c.seed, i)
		if c.See(l, i, &r).Counts.total() >= l.Counts.total() {
			reached++
		}
	}
	return float64(reached) / float64(len(c.members)), nil
}

// resample draws members in proportion to their weight at even steps from one
// random start. Copies go on with streams of their own and differ a little in what
// is not known, so that the cloud does not shrink to one member.
func (c *Cloud) resample(sum float64) {
	if c.spare == nil {
		c.spare = make([]Member, len(c.members))
	}
	c.looks++
	r := Stream(c.seed, -c.looks)
	step := sum / float64(len(c.members))
	at, reached, j := r.Float64()*step, c.weights[0], 0
	for i := range c.spare {
		for reached < at && j < len(c.members)-1 {
			j++
			reached += c.weights[j]
		}
		c.spare[i] = c.members[j]
		if i > 0 && reached-c.weights[j] < at-step {
			c.spare[i].jitter(Stream(r.Uint64(), i), c.model)
		}
		at += step
	}
	c.members, c.spare = c.spare, c.members
}

// How far a copy differs from the member it is copied from.
const (
	jitterFertile = 0.05
	jitterSkill   = 0.05
	jitterHost    = 0.1
)

func (x *Member) jitter(r Rand, m *Model) {
	x.rand = r
	x.fertile = min(4, max(0.25, x.fertile*math.Exp(jitterFertile*x.rand.Normal())))
	x.skill = reflect(x.skill + jitterSkill*x.rand.Normal())
	if x.rand.Float64() < jitterHost {
		host, kind := int(x.variant)%hostLevels, int(x.variant)/hostLevels
		host = min(hostLevels-1, max(0, host-1+2*x.rand.IntN(2)))
		x.variant = uint16(kind*hostLevels + host)
	}
}

func reflect(x float64) float64 {
	if x < 0 {
		x = -x
	}
	if x > 1 {
		x = 2 - x
	}
	return min(1, max(0, x))
}
