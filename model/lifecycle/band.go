package lifecycle

import "leafturn/model/refdata"

// Band is a figure with its spread over hosts and kinds.
type Band struct{ Low, Central, High float64 }

// Over asks one question of every life that a species may stand for, each kind on
// a fast, an ordinary and a slow host, and returns the smallest, the central and
// the largest answer. The central one is that of the species itself on an
// ordinary host. Any answer's error is the band's error.
//
//	days, err := lifecycle.Over(s, func(l *lifecycle.Life) (float64, error) { return l.Immature(22) })
func Over(s refdata.Species, ask func(*Life) (float64, error)) (Band, error) {
	centre, err := Of(s)
	if err != nil {
		return Band{}, err
	}
	c, err := ask(centre)
	if err != nil {
		return Band{}, err
	}
	b := Band{c, c, c}
	for _, kind := range s.Kinds() {
		l, err := Of(kind)
		if err != nil {
			return Band{}, err
		}
		if err := b.widen(l, ask); err != nil {
			return Band{}, err
		}
	}
	return b, nil
}

func (b *Band) widen(l *Life, ask func(*Life) (float64, error)) error {
	for _, factor := range [...]float64{FastHost, 1, SlowHost} {
		on, err := l.OnHost(factor)
		if err != nil {
			return err
		}
		x, err := ask(on)
		if err != nil {
			return err
		}
		b.Low, b.High = min(b.Low, x), max(b.High, x)
	}
	return nil
}
