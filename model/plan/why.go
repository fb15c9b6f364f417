package plan

import "leafturn/model"

// reasons are why a move is on its day: what it is for, then what moved it.
func (s *search) reasons(p pace, moves []move, i int) []Reason {
	m := &moves[i]
	t := &s.tools[m.tool]
	switch {
	case m.retry > 0:
		return []Reason{{Because: LeafToTry, Days: m.retry, Product: t.product.ID}}
	case m.soil, t.means == model.MeansSystemicSoil:
		return s.soilReasons(m, t)
	case m.first:
		return []Reason{{Because: BeforeSpray, Date: s.c.date(m.day)}}
	case m.spans:
		return []Reason{s.bridge(moves, i)}
	}
	all := s.pestReasons(p, m, moves, i)
	if r, ok := s.heldReason(m); ok {
		all = append(all, r)
	}
	if m.instead >= 0 {
		all = append(all, s.insteadReason(m))
	}
	return all
}

// pestReasons are what the pest asks for.
func (s *search) pestReasons(p pace, m *move, moves []move, i int) []Reason {
	if m.last < 0 {
		if i > 0 && moves[0].retry > 0 {
			return []Reason{{Because: OneLeafFirst, Days: m.day - moves[0].day, Date: s.c.date(moves[0].day)}}
		}
		return []Reason{{Because: FirstPossible, Date: s.c.date(m.day)}}
	}
	lead := s.leadOf(p, moves, i)
	wanted := m.due - m.last
	if lead.window <= 0 {
		return []Reason{{Because: PracticeGap, Days: practice, Wanted: wanted, Date: s.c.date(m.last)}}
	}
	all := []Reason{{
		Because: CatchesYoung, Date: s.c.date(m.last), Days: s.fullGap(lead, m.last), Wanted: wanted,
		DegreeDays: lead.window, Lower: lead.lower, Celsius: s.c.meanBetween(m.last, m.day),
	}}
	switch {
	case p.factor < 1:
		all = append(all, Reason{Because: ShorterGap, Days: wanted, Wanted: all[0].Days})
	case p.factor > 1:
		all = append(all, Reason{Because: LongestGap, Days: wanted, Wanted: all[0].Days})
	}
	return all
}

// leadOf is the tool whose reach set the gap before a move: the one of the last
// spray, or water.
func (s *search) leadOf(p pace, moves []move, i int) *tool {
	if p.order[0] < 0 {
		return &s.tools[s.water]
	}
	for k := i - 1; k >= 0; k-- {
		if x := &moves[k]; x.spray(s.water) && !x.soil {
			return &s.tools[x.tool]
		}
	}
	return &s.tools[moves[i].tool]
}

// fullGap is the days for which the young can be reached after a day.
func (s *search) fullGap(t *tool, from int) int {
	sum := 0.0
	for d := from; d < len(t.share); d++ {
		if sum += t.share[d]; sum >= 1 {
			return d + 1 - from
		}
	}
	return len(t.share) - from
}

// heldReason is what moved a spray from the day on which it was due.
func (s *search) heldReason(m *move) (Reason, bool) {
	if m.held == 0 || m.day == m.due {
		return Reason{}, false
	}
	t := &s.tools[m.tool]
	wanted := 0
	if m.last >= 0 {
		wanted = m.due - m.last
	}
	r := Reason{Product: t.product.ID, Date: s.c.date(m.due), Days: m.day - m.due, Wanted: wanted}
	switch m.held {
	case LimitInterval:
		r.Because, r.Days = LabelGap, t.gap
		if t.guessed {
			r.Because = PracticeGap
		}
		if m.last >= 0 {
			r.Date = s.c.date(m.last)
		}
	case LimitHeat:
		r.Because, r.Celsius = NotInHeat, t.celsius
	case LimitReentry:
		r.Because, r.Hours = PlantsUntouched, t.product.ReentryHours
	default:
		r.Because = WaitsForOther
	}
	return r, true
}

// insteadReason is why a tool other than the first choice is used.
func (s *search) insteadReason(m *move) Reason {
	x := &s.tools[m.instead]
	r := Reason{Product: x.product.ID, Group: x.product.Group, Date: s.c.date(m.day)}
	switch m.why {
	case LimitRotation:
		r.Because, r.Days = OtherGroup, s.c.rule().Window.Min
	case LimitSeason:
		r.Because, r.Count = SeasonFull, x.product.MaxPerSeason
	case LimitHeat:
		r.Because, r.Celsius = NotInHeat, x.celsius
	default:
		r.Because, r.Days = LabelGap, x.gap
		if m.last >= 0 {
			r.Wanted = m.due - m.last
		}
	}
	return r
}

func (s *search) soilReasons(m *move, t *tool) []Reason {
	var all []Reason
	if m.last >= 0 {
		all = append(all, Reason{Because: Again, Date: s.c.date(m.last), Days: m.day - m.last})
	}
	if t.means == model.MeansSystemicSoil {
		return append(all, Reason{Because: WorksFrom, Days: t.effect.Delay, Date: s.c.date(m.day + t.effect.Delay)})
	}
	return append(all, Reason{Because: RestsInMix, Date: s.c.date(m.day)})
}

// bridge is why plants are rinsed although no spray is allowed.
func (s *search) bridge(moves []move, i int) Reason {
	m := &moves[i]
	r := Reason{Because: Bridges, Date: s.c.date(m.day)}
	if m.last >= 0 {
		r.Wanted, r.Date = m.day-m.last, s.c.date(m.last)
	}
	for _, x := range moves[i+1:] {
		if x.spray(s.water) && !x.soil {
			r.Days, r.Product = x.day-m.day, s.tools[x.tool].product.ID
			return r
		}
	}
	return r
}
