package refdata

import "leafturn/model"

// reach lists levels in the order of model.Means: soap, oil, another contact
// spray, systemic through the soil, drench, water. A letter is a level: y
// reached, p partly, n missed; a capital letter was read in the sources given,
// a small one is from memory.
func reach(levels, sources string) [7]Reach {
	var r [7]Reach
	for i, c := range levels {
		r[i+int(model.MeansSoap)] = letter(c, sources)
	}
	return r
}

func letter(c rune, sources string) Reach {
	switch c {
	case 'Y':
		return Reach{Reached, sources}
	case 'P':
		return Reach{Partly, sources}
	case 'N':
		return Reach{Missed, sources}
	case 'y':
		return Reach{Reached, "memory"}
	case 'p':
		return Reach{Partly, "memory"}
	default:
		return Reach{Missed, "memory"}
	}
}

// seen is the chance that one animal is noticed in one look by eye, lens, tap and
// card. All are from memory, with a wide band; a way that cannot show the animal
// at all is nought.
func seen(eye, lens, tap, card float64) [4]Value {
	return [4]Value{notice(eye), notice(lens), notice(tap), notice(card)}
}

func notice(p float64) Value {
	return is(Chance, p/2, p, min(1, p*1.5), "memory")
}

// neverOnCards is seen for a stage that a page says cards do not catch.
func neverOnCards(eye, lens, tap float64) [4]Value {
	s := seen(eye, lens, tap, 0)
	s[Card] = is(Chance, 0, 0, 0, "UCON-CARD")
	return s
}
