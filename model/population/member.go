package population

import "math"

// Member is one possible course of things on a plant.
type Member struct {
	variant uint16
	fertile float64 // factor on laying
	skill   float64 // 0 to 1: where in the band of a treatment its effect lies here
	rand    Rand
	boxes   [maxBoxes + 1]int32 // the last is for the dead of a day

	since    int16 // the day on which founders come, if there are any
	founders int32

	born int32 // eggs laid or young born since the member began
	came int32 // newcomers since the member began
	died int32 // deaths since the member began, of age as well
}

// newMember draws what is not known about a plant and its keepers.
func (m *Model) newMember(r Rand) Member {
	x := Member{rand: r}
	x.variant = uint16(x.rand.IntN(m.variants()))
	x.fertile = math.Exp(fertileSigma * x.rand.Normal())
	x.skill = x.rand.Float64()
	return x
}

// Total is the number of animals.
func (x *Member) Total() int {
	sum := 0
	for _, n := range x.boxes {
		sum += int(n)
	}
	return sum
}

// Balance is the animals born, arrived and died since the member began.
func (x *Member) Balance() (born, came, died int) { return int(x.born), int(x.came), int(x.died) }

// ages gives the animals of each stage of the model.
func (m *Model) ages(x *Member, out *[maxStages]int32) {
	*out = [maxStages]int32{}
	for i, n := range x.boxes[:m.size] {
		out[m.stageOf[i]] += n
	}
}

// day lets one day pass.
func (c *Climate) day(x *Member, d int, kills *Kills, arrivals float64) {
	m := c.model
	if row := kills.row(d); row != nil {
		m.kill(x, row)
	}
	if x.founders > 0 && int(x.since) == d {
		m.arrive(x, x.founders)
		x.founders = 0
	}
	if arrivals > 0 {
		m.arrive(x, x.rand.Poisson(arrivals))
	}
	c.layEggs(x, d)
	c.move(x, d)
}

// arrive lets adults come in that have just begun to lay: young adults fly or are
// carried most, and the first eggs are what matters.
func (m *Model) arrive(x *Member, n int32) {
	x.boxes[m.first] += n
	x.came += n
}

func (m *Model) kill(x *Member, row *killRow) {
	for i := range m.stages {
		p := row[i].at(x.skill)
		if p <= 0 {
			continue
		}
		s := &m.stages[i]
		for j := s.start; j < s.start+s.boxes; j++ {
			if n := x.boxes[j]; n > 0 {
				dead := x.rand.Binomial(n, p)
				x.boxes[j] -= dead
				x.died += dead
			}
		}
	}
}

func (c *Climate) layEggs(x *Member, d int) {
	m := c.model
	mothers, total := int32(0), int32(0)
	for i, n := range x.boxes[:m.size] {
		total += n
		if i >= m.first && i < m.firstSpent {
			mothers += n
		}
	}
	if mothers == 0 {
		return
	}
	room := max(0, 1-float64(total)/m.capacity)
	rate := c.lay[int(c.kindOf[d])*m.variants()+int(x.variant)]
	n := x.rand.Poisson(float64(mothers) * rate * x.fertile * room)
	x.boxes[0] += n
	x.born += n
}

// move goes from the oldest box to the youngest, so that nobody moves twice.
func (c *Climate) move(x *Member, d int) {
	m := c.model
	stages := len(m.stages)
	at := (int(c.kindOf[d])*m.variants() + int(x.variant)) * stages
	shifts := c.shiftsOf(d, int(x.variant))
	var out [fates]int32
	for s := stages - 1; s >= 0; s-- {
		f, start, end := &c.fates[at+s], m.stages[s].start, m.stages[s].start+m.stages[s].boxes
		step := int(shifts[m.stages[s].clock])
		for i := end - 1; i >= start; i-- {
			n := x.boxes[i]
			if n == 0 {
				continue
			}
			x.boxes[i] = 0
			f.draw(&x.rand, n, &out)
			x.died += out[0]
			x.put(i+step, end, &f.over[d&(offsets-1)], out[1:f.last+1])
		}
	}
	x.died += x.boxes[maxBoxes]
	x.boxes[maxBoxes] = 0
}

// put moves animals on, to a box and the ones after it. Those that pass the end of
// their stage find their box in over; the box after the last is that of the dead.
func (x *Member) put(to, end int, over *[overs]uint8, groups []int32) {
	for _, k := range groups {
		box := to
		if box >= end {
			box = int(over[min(box-end, overs-1)])
		}
		x.boxes[box] += k
		to++
	}
}

// overs is how far past the end of a stage a table reaches; nobody goes further.
// There is a table for each of some roundings, which take turns day by day, so that
// rounding to whole boxes neither hurries nor delays.
const (
	overs   = 24
	offsets = 4
)

// passes fills the tables of a stage: the box of an animal that passed its end by
// so many of its boxes. The rest of the way is measured in the next stage's boxes,
// whose number to one of this stage is given for each.
func (m *Model) passes(s int, ratios []float64) (tables [offsets][overs]uint8) {
	for i, offset := range [offsets]float64{0.125, 0.625, 0.375, 0.875} {
		for o := range tables[i] {
			tables[i][o] = m.pass(s, float64(o), offset, ratios)
		}
	}
	return tables
}

func (m *Model) pass(stage int, rest, offset float64, ratios []float64) uint8 {
	for {
		end := m.stages[stage].start + m.stages[stage].boxes
		rest *= ratios[stage]
		stage++
		if stage == len(m.stages) {
			return maxBoxes
		}
		if boxes := m.stages[stage].boxes; int(rest+offset) < boxes {
			return uint8(end + int(rest+offset))
		}
		rest -= float64(m.stages[stage].boxes)
		rest = max(0, rest)
	}
}
