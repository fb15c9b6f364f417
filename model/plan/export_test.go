package plan

import "leafturn/model/rotation"

// Brute goes through every pace of a case and every number of sprays from one on,
// one after the other, and gives the least number that reaches the target, the
// first chance that does so with that number in order of paces, and how many
// courses it looked at. It shares the layout of courses with the search, and
// nothing of how the search prunes.
func Brute(c Case, most Rung) (least int, chance float64, looked int, err error) {
	full, err := c.fill()
	if err != nil {
		return 0, 0, 0, err
	}
	s, err := newSearch(full, Watch{})
	if err != nil {
		return 0, 0, 0, err
	}
	for _, p := range s.paces(most) {
		moves := s.lay(p, nil)
		for n := 1; n <= number(moves, s.water); n++ {
			looked++
			x, err := s.chance(upTo(moves, n, s.water), s.whole, s.to)
			if err != nil {
				return 0, 0, 0, err
			}
			if x >= full.Target && (least == 0 || n < least) {
				least, chance = n, x
			}
		}
	}
	return least, chance, looked, nil
}

// Fewest is what the search finds for tools up to a rung.
func Fewest(c Case, most Rung) (least int, chance float64, err error) {
	full, err := c.fill()
	if err != nil {
		return 0, 0, err
	}
	s, err := newSearch(full, Watch{})
	if err != nil {
		return 0, 0, err
	}
	f, err := s.sure(s.paces(most))
	if !f.ok {
		return 0, 0, err
	}
	return f.n, f.chance, err
}

// ReentryDays shows how hours become days.
var ReentryDays = reentryDays

// Rule is the rotation rule of a case.
func Rule(c Case) rotation.Rule {
	full, err := c.fill()
	if err != nil {
		panic(err)
	}
	return full.rule()
}
