package plan

import "slices"

// spare leaves out the rinses beside sprays that the course can do without, the last
// ones first: those without which it still reaches the target or, where it does not,
// keeps nearly the chance that it has. It gives what is left, and its chance. Nothing that stays
// could go as well, because fewer rinses never help.
func (s *search) spare(moves []move, chance float64) ([]move, float64, error) {
	least := s.c.Target
	if chance < least {
		least = nearly * chance
	}
	for i := len(moves) - 1; i >= 0; i-- {
		if counted(&moves[i], moves, s.water) || moves[i].retry > 0 {
			continue
		}
		fewer := slices.Delete(slices.Clone(moves), i, i+1)
		c, err := s.chanceWithout(moves, fewer, chance-least)
		if err != nil {
			return nil, 0, err
		}
		if c >= least {
			moves, chance = fewer, c
		}
	}
	return s.relink(moves), chance, nil
}

// chanceWithout is the chance with fewer moves, or 0 if the small sample says that
// they cost more than twice what there is to spare: the large one takes ten times as
// long to ask.
func (s *search) chanceWithout(moves, fewer []move, spare float64) (float64, error) {
	before, err := s.chance(moves, s.sample, s.to)
	if err != nil {
		return 0, err
	}
	after, err := s.chance(fewer, s.sample, s.to)
	if err != nil || before-after > 2*spare {
		return 0, err
	}
	return s.chance(fewer, s.whole, s.to)
}

// relink sets anew since when nothing was done before each of the rinses.
func (s *search) relink(moves []move) []move {
	last := -1
	for i := range moves {
		m := &moves[i]
		if m.soil || m.retry > 0 {
			continue
		}
		if !m.spray(s.water) {
			m.last = last
		}
		last = m.day
	}
	return moves
}
