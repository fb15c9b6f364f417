package plan

import (
	"math"
	"slices"

	"leafturn/model"
	"leafturn/model/degree"
)

// mode is when plants are rinsed or wiped besides being sprayed.
type mode uint8

const (
	dry     mode = 0 // never
	between mode = 1 // while a label holds the next spray back
	both    mode = 2 // then, and before each spray
)

// pace is one way to run a course. With no tools in order it is run with water.
type pace struct {
	start  int     // days from today
	factor float64 // of the time for which the young can be reached
	order  [3]int8 // tools to build on, first choice first; -1 for none
	soil   int8    // tool for what lives in the mix; -1 for none
	mode   mode
}

// move is one thing done on a day of the search.
type move struct {
	day     int
	due     int   // the day on which it was wanted; day unless something held it back
	held    Limit // what did, 0 for nothing
	last    int   // the day before on which something was done against the same stages; -1 if none
	tool    int8  // index of a tool; water is the last
	instead int8  // the tool that would have been used; -1 if this is the one
	why     Limit // why it was not
	soil    bool  // into the mix, beside a course on the leaves
	first   bool  // rinsed before a spray of the same day
	spans   bool  // rinsed while a label holds the next spray back
	retry   int   // a leaf to try: days until the first spray; 0 for anything else
}

func (m *move) spray(water int) bool { return int(m.tool) != water && m.retry == 0 }

// most is the most applications a course may have, and practice the gap where the
// pest says nothing about it.
const (
	mostSprays = 24
	practice   = 7
)

// tryLeaf is how long one leaf of a sensitive plant is watched first: the longer of
// 24 to 48 hours (IPMSOAP_MBG).
const tryLeaf = 2

// run lays a course out, day by day.
type run struct {
	s     *search
	p     pace
	a     account
	moves []move

	current   int     // place in the order
	lastMain  int     // day of the last spray of the order, or of water if there is none; -1 before
	lastTouch int     // the same, or a rinse
	since     float64 // share of the wanted gap since the last spray
	touched   float64 // the same since anything was done
	due       int     // the day since which a spray is wanted; -1 if none is
	held      Limit   // what first kept it from being done
	sprays    int
	soilDay   int
}

// lay gives the moves of a pace until the end of the horizon or the most sprays.
func (s *search) lay(p pace, into []move) []move {
	r := run{s: s, p: p, a: s.account.copy(), moves: into[:0], lastMain: -1, lastTouch: -1, due: -1, soilDay: -1}
	from := s.from + p.start
	if s.sensitive && (p.order[0] >= 0 || p.soil >= 0) && r.tests() {
		leaf := max(s.from, s.account.free)
		from = max(from, leaf+tryLeaf)
		r.moves = append(r.moves, move{day: leaf, due: leaf, tool: r.firstTool(), instead: -1, last: -1, retry: from - leaf})
	}
	for d := from; d < s.to && r.sprays < mostSprays; d++ {
		r.day(d)
	}
	return r.moves
}

func (r *run) firstTool() int8 {
	if r.p.order[0] >= 0 {
		return r.p.order[0]
	}
	return r.p.soil
}

// tests reports whether a leaf must be tried: for what goes on the leaves.
func (r *run) tests() bool {
	m := r.s.tools[r.firstTool()].means
	return m != model.MeansSystemicSoil && m != model.MeansSoilDrench
}

func (r *run) day(d int) {
	wanted := r.wanted(d)
	if wanted && r.due < 0 {
		r.due = d
	}
	if d >= r.a.free {
		if wanted {
			r.main(d)
		}
		if d >= r.a.free { // a spray of the same day may forbid it
			r.drench(d)
		}
	} else if wanted && r.held == 0 {
		r.held = r.a.note(LimitReentry)
	}
	share := r.lead().share[d] / r.p.factor
	r.since += share
	r.touched += share
}

// wanted reports whether something is due on the leaves.
func (r *run) wanted(d int) bool {
	if r.p.order[0] < 0 && r.p.soil >= 0 {
		return false // a systemic alone
	}
	return r.lastMain < 0 || r.since >= 1 && d-r.lastMain >= leastGap
}

// lead is the tool whose reach sets the wanted gap.
func (r *run) lead() *tool {
	if r.p.order[0] < 0 {
		return &r.s.tools[r.s.water]
	}
	return &r.s.tools[r.p.order[r.current]]
}

// main does what is due on the leaves, or notes what holds it back.
func (r *run) main(d int) {
	if r.p.order[0] < 0 {
		r.wash(d, move{})
		r.lastMain, r.since, r.due, r.held = d, 0, -1, 0
		return
	}
	m, ok := r.choose(d)
	switch {
	case ok:
		if r.p.mode == both {
			r.wash(d, move{first: true})
		}
		r.spray(d, m)
	case r.p.mode != dry && (r.lastTouch < 0 || r.touched >= 1 && d-r.lastTouch >= leastGap) && r.rinsable(d):
		r.wash(d, move{held: r.held, spans: true})
	}
}

// choose finds the tool for a day: the one in use if it may be used and its group
// need not change, else the next in order that may.
func (r *run) choose(d int) (move, bool) {
	may := -1
	m := move{instead: -1}
	for k := range r.p.order {
		at := (r.current + k) % len(r.p.order)
		i := r.p.order[at]
		if i < 0 {
			continue
		}
		limit, due := r.a.asks(int(i), d)
		if limit == 0 && !due {
			r.current, m.tool = at, i
			return m, true
		}
		if limit == 0 && may < 0 {
			may = at
		}
		if due {
			limit = LimitRotation
		}
		if m.instead < 0 {
			m.instead, m.why = i, limit
		}
	}
	if may < 0 {
		if r.held == 0 {
			r.held = m.why
		}
		return m, false
	}
	r.current, m.tool = may, r.p.order[may]
	if m.tool == m.instead { // due for a change, and nothing to change to
		m.instead, m.why = -1, 0
	}
	return m, true
}

func (r *run) spray(d int, m move) {
	m.day, m.due, m.held, m.last = d, r.due, r.held, r.lastMain
	r.moves = append(r.moves, m)
	r.a.take(int(m.tool), d)
	r.sprays++
	r.lastMain, r.lastTouch, r.since, r.touched, r.due, r.held = d, d, 0, 0, -1, 0
}

func (r *run) wash(d int, m move) {
	m.day, m.due, m.tool, m.instead, m.last = d, d, int8(r.s.water), -1, r.lastTouch
	r.moves = append(r.moves, m)
	r.lastTouch, r.touched = d, 0
}

// rinsable reports whether water would wash nothing off that still works.
func (r *run) rinsable(d int) bool {
	for k := len(r.moves) - 1; k >= 0; k-- {
		if m := &r.moves[k]; m.spray(r.s.water) && !m.soil {
			return d-m.day > r.s.tools[m.tool].effect.Lasts
		}
	}
	return true
}

// drench does what is due in the mix: a systemic once, others as often as they wear
// off and their labels allow, while the course on the leaves goes on.
func (r *run) drench(d int) {
	i := int(r.p.soil)
	if i < 0 {
		return
	}
	t := &r.s.tools[i]
	if r.soilDay >= 0 && (t.means == model.MeansSystemicSoil || d-r.soilDay < t.effect.Delay+t.effect.Lasts+1) {
		return
	}
	if limit, _ := r.a.asks(i, d); limit != 0 {
		return
	}
	r.moves = append(r.moves, move{day: d, due: d, tool: int8(i), instead: -1, last: r.soilDay, soil: true})
	r.a.take(i, d)
	r.sprays++
	r.soilDay = d
}

// shares makes the share of the wanted gap that each day is worth for each tool.
func (s *search) shares() error {
	for i := range s.tools {
		t := &s.tools[i]
		t.share = make([]float64, len(s.c.Days))
		for d, day := range s.c.Days {
			if t.window <= 0 {
				t.share[d] = 1.0 / practice
				continue
			}
			gain, err := degree.SingleSine.Day(day.Low, day.High, day.Low, degree.Above(t.lower))
			if err != nil {
				return err
			}
			t.share[d] = min(0.5, gain/t.window)
		}
	}
	return nil
}

// upTo is the moves up to the nth spray and what comes with it on its day; without
// sprays in the course the first n rinses.
func upTo(moves []move, n, water int) []move {
	count := 0
	for i := range moves {
		if !counted(&moves[i], moves, water) {
			continue
		}
		if count++; count == n {
			return moves[:i+1]
		}
	}
	return moves
}

// counted reports whether a move is one that a course is measured by.
func counted(m *move, moves []move, water int) bool {
	if m.spray(water) {
		return true
	}
	return m.retry == 0 && !slices.ContainsFunc(moves, func(x move) bool { return x.spray(water) })
}

func number(moves []move, water int) int {
	n := 0
	for i := range moves {
		if counted(&moves[i], moves, water) {
			n++
		}
	}
	return n
}

// meanBetween is the mean temperature of some days.
func (c *Case) meanBetween(from, to int) float64 {
	sum := 0.0
	for _, d := range c.Days[from:to] {
		sum += d.Mean()
	}
	return math.Round(sum/float64(max(1, to-from))*10) / 10
}
