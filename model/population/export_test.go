package population

import "leafturn/model"

// Fix makes every member alike in what is not known: the ordinary host of the first
// kind, ordinary fertility, middling skill.
func (c *Cloud) Fix() *Cloud {
	for i := range c.members {
		c.members[i].variant = hostLevels / 2
		c.members[i].fertile, c.members[i].skill = 1, 0.5
	}
	return c
}

// Truth gives what a member's plant is really like.
func (c *Cloud) Truth(i int) (host, fertile float64) {
	x := &c.members[i]
	return hostFactor(int(x.variant) % hostLevels), x.fertile
}

// Only keeps one member.
func (c *Cloud) Only(i int) *Cloud {
	s := *c
	s.members, s.spare, s.weights = []Member{c.members[i]}, nil, nil
	return &s
}

// Place puts animals into the first box of a stage of every member.
func (c *Cloud) Place(stage int, n int32) *Cloud {
	for i := range c.members {
		c.members[i].boxes[c.model.stages[stage].start] += n
		c.members[i].came += n
	}
	return c
}

// InStage gives the animals of a stage of the model, or all of them if it is -1.
func (c *Cloud) InStage(member, stage int) int {
	if stage < 0 {
		return c.members[member].Total()
	}
	var n [maxStages]int32
	c.model.ages(&c.members[member], &n)
	return int(n[stage])
}

// Balance is the animals born, arrived and died in a member.
func (c *Cloud) Balance(i int) (born, came, died int) { return c.members[i].Balance() }

// Births is the young per laying animal and day of the ordinary host.
func (c *Climate) Births(day int) float64 {
	return c.lay[int(c.kindOf[day])*c.model.variants()+hostLevels/2]
}

// StageOf names the model's stages by what people count them as.
func (m *Model) StageOf(i int) model.Stage { return m.stages[i].as }

// Rows gives what is killed of a stage on a day.
func (k *Kills) Rows(day, stage int) Span { return k.rows[day][stage] }

// OneDay lets a member live a day, for counting allocations.
func (c *Cloud) OneDay(w *Climate, d int, kills *Kills) { w.day(&c.members[0], d, kills, 0.1) }

// PlaceAdults puts laying adults into every member, as newcomers would stand.
func (c *Cloud) PlaceAdults(n int32) {
	for i := range c.members {
		c.model.arrive(&c.members[i], n)
	}
}

// Mean is the expected number of animals of the ordinary host at the start of each
// day, integrated without draws and without crowding, from a number of newcomers.
// It walks an expected number through the same boxes by plain sums, apart from the
// code that draws.
func Mean(w *Climate, from int, newcomers float64, to int) []float64 {
	m, v := w.model, hostLevels/2
	n := make([]float64, maxBoxes+1)
	n[m.first] = newcomers
	var all []float64
	for d := from; ; d++ {
		sum := 0.0
		for _, x := range n[:maxBoxes] {
			sum += x
		}
		if all = append(all, sum); d == to {
			return all
		}
		for i := m.first; i < m.firstSpent; i++ {
			n[0] += n[i] * w.Births(d)
		}
		next := make([]float64, maxBoxes+1)
		for i, x := range n[:m.size] {
			s := int(m.stageOf[i])
			f := &w.fates[(int(w.kindOf[d])*m.variants()+v)*len(m.stages)+s]
			end := m.stages[s].start + m.stages[s].boxes
			for j := 1; j < fates; j++ {
				to := i + j - 1
				to += int(w.shiftsOf(d, v)[m.stages[s].clock])
				if to >= end {
					to = int(f.over[d&(offsets-1)][to-end])
				}
				next[to] += x * f.p[j]
			}
		}
		n = next
	}
}

// Young is the number of animals in a member that are not adult.
func (c *Cloud) Young(member int) int {
	sum := 0
	for _, n := range c.members[member].boxes[:c.model.firstAdult()] {
		sum += int(n)
	}
	return sum
}
