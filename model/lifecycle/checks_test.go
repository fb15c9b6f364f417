package lifecycle_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/lifecycle"
	"leafturn/model/refdata"
)

// verdict is whether a printed figure and ours agree, with both in words.
type verdict struct {
	agrees bool
	words  string
}

func between(low, x, high float64) verdict {
	return verdict{low <= x && x <= high, fmt.Sprintf("%.5g must lie between %.5g and %.5g", x, low, high)}
}

func near(ours, printed, tolerance float64) verdict {
	return verdict{math.Abs(ours-printed) <= tolerance*printed, fmt.Sprintf("ours %.5g, printed %.5g, %+.1f %%", ours, printed, 100*(ours/printed-1))}
}

// onSomeHost holds a printed figure against ours on hosts from fast to slow.
func onSomeHost(printed, ours float64) verdict {
	return between(ours*lifecycle.FastHost, printed, ours*lifecycle.SlowHost)
}

// tolerance is what times of development may differ by: a tenth in rooms where
// the straight line holds well, a fifth outside.
func tolerance(celsius float64) float64 {
	if celsius >= 18 && celsius <= 28 {
		return 0.1
	}
	return 0.2
}

// checks are the ways to hold a printed figure against ours, by their names in
// the table.
var checks = map[string]func(*testing.T, figure) verdict{
	// Times at a stated temperature, and the ends of a range of times.
	"span": func(t *testing.T, f figure) verdict {
		return near(f.days(t, f.life(t), f.celsius), f.printed, tolerance(f.celsius))
	},
	"span_min": func(t *testing.T, f figure) verdict {
		return between(f.printed*(1-tolerance(f.celsius)), f.days(t, f.life(t), f.celsius), math.Inf(1))
	},
	"span_max": func(t *testing.T, f figure) verdict {
		return between(0, f.days(t, f.life(t), f.celsius), f.printed*(1+tolerance(f.celsius)))
	},
	// Times without a temperature: somewhere among the rooms, on some host.
	"somewhere": func(t *testing.T, f figure) verdict { return somewhere(t, f, f.days) },
	// Times after a stated temperature relative to another.
	"ratio": func(t *testing.T, f figure) verdict {
		at, other := f.pairs(t, "other")
		l := f.life(t)
		return near(f.days(t, l, f.celsius)/f.days(t, l, at[0]), f.printed/other[0], 0.05)
	},
	"per_year": func(t *testing.T, f figure) verdict {
		f.span = "generation"
		f.printed = 365 / f.printed
		return somewhere(t, f, f.days)
	},
	// Thresholds and constants.
	"lower": func(t *testing.T, f figure) verdict {
		return between(f.printed-3, f.lower(t), f.printed+3)
	},
	"const": func(t *testing.T, f figure) verdict { return f.atEach(t, near) },
	"pair": func(t *testing.T, f figure) verdict {
		return f.atEach(t, func(ours, printed, _ float64) verdict { return onSomeHost(printed, ours) })
	},
	"line_lower": func(t *testing.T, f figure) verdict {
		lower, _ := f.line(t)
		return between(f.printed-0.2, lower, f.printed+0.2)
	},
	"line_constant": func(t *testing.T, f figure) verdict {
		_, constant := f.line(t)
		return near(constant, f.printed, 0.02)
	},
	"sum": func(t *testing.T, f figure) verdict {
		return near(f.days(t, f.life(t), 20)*(20-f.lower(t)), f.printed, 0.001)
	},
	// Growth.
	"r": func(t *testing.T, f figure) verdict {
		ours := f.growth(t, 1, f.celsius).R
		if f.role == "fit" {
			return near(ours, f.printed, 0.05)
		}
		return between(f.growth(t, lifecycle.SlowHost, f.celsius).R, f.printed, f.growth(t, lifecycle.FastHost, f.celsius).R)
	},
	"r_somewhere": func(t *testing.T, f figure) verdict {
		cool, warm := f.rooms(t)
		return between(f.growth(t, lifecycle.SlowHost, cool).R, f.printed, f.growth(t, lifecycle.FastHost, warm).R)
	},
	"r0": func(t *testing.T, f figure) verdict { return onSomeHost(f.printed, f.growth(t, 1, f.celsius).R0) },
	"generation": func(t *testing.T, f figure) verdict {
		return onSomeHost(f.printed, f.growth(t, 1, f.celsius).Generation)
	},
	"best": func(t *testing.T, f figure) verdict {
		return between(0.75*f.fastest(t), f.growth(t, 1, f.printed).R, math.Inf(1))
	},
	// What the identities make of figures printed beside each other. The inputs are
	// rounded too, so net rates and generations get a fortieth.
	"id_r0": func(t *testing.T, f figure) verdict {
		return near(math.Exp(f.numbers(t, "r")[0]*f.numbers(t, "t")[0]), f.printed, 0.025)
	},
	"id_t": func(t *testing.T, f figure) verdict {
		return near(lifecycle.GenerationTime(f.numbers(t, "r0")[0], f.numbers(t, "r")[0]), f.printed, 0.025)
	},
	"id_lambda": func(t *testing.T, f figure) verdict {
		return between(f.printed-f.half(), lifecycle.Lambda(f.numbers(t, "r")[0]), f.printed+f.half())
	},
	"id_doubling": func(t *testing.T, f figure) verdict {
		return between(f.printed-f.half(), lifecycle.Doubling(f.numbers(t, "r")[0]), f.printed+f.half())
	},
	// Adults.
	"life": func(t *testing.T, f figure) verdict {
		return onSomeHost(f.printed, f.adult(t, f.life(t), f.celsius))
	},
	"life_somewhere": func(t *testing.T, f figure) verdict { return somewhere(t, f, f.adult) },
	"life_longest": func(t *testing.T, f figure) verdict {
		p, err := refdata.Get(f.species)
		require.NoError(t, err)
		p.Adult.Constant.Central = p.Adult.Constant.High
		cool, warm := f.rooms(t)
		l := lifecycle.FromProfile(&p)
		return between(f.adult(t, l, warm), f.printed, f.adult(t, l, cool))
	},
	"prelaying_max":       func(t *testing.T, f figure) verdict { return between(0, wait(t, f.life(t), f.celsius), f.printed) },
	"prelaying_somewhere": func(t *testing.T, f figure) verdict { return somewhere(t, f, wait) },
	"eggs": func(t *testing.T, f figure) verdict {
		young := valueOf(t, f.species, "adult young")
		require.NotContains(t, []float64{young.Low, young.Central, young.High}, f.printed, "no figure is held against itself")
		return between(young.Low, f.printed, young.High)
	},
	"id_eggs": func(t *testing.T, f figure) verdict {
		return near(valueOf(t, f.species, "adult young").Central, f.printed*f.numbers(t, "days")[0], 0.1)
	},
	"eggs_per_day": func(t *testing.T, f figure) verdict {
		return onSomeHost(f.printed, valueOf(t, f.species, "adult young").Central/f.adult(t, f.life(t), f.celsius))
	},
	// Shares in per cent.
	"survival": func(t *testing.T, f figure) verdict {
		return between(f.printed-5, 100*f.survival(t), f.printed+5)
	},
	"survival_min":  func(t *testing.T, f figure) verdict { return between(f.printed, 100*f.survival(t), 100) },
	"survival_max":  func(t *testing.T, f figure) verdict { return between(0, 100*f.survival(t), f.printed) },
	"mortality_min": func(t *testing.T, f figure) verdict { return between(f.printed, 100*(1-f.survival(t)), 100) },
	"mortality_max": func(t *testing.T, f figure) verdict { return between(0, 100*(1-f.survival(t)), f.printed) },
	// Limits.
	"dead":  func(t *testing.T, f figure) verdict { return f.lives(t, false) },
	"alive": func(t *testing.T, f figure) verdict { return f.lives(t, true) },
	"hot": func(t *testing.T, f figure) verdict {
		return between(valueOf(t, f.species, "upper").Central, f.printed, valueOf(t, f.species, "lethal").Central)
	},
}

func somewhere(t *testing.T, f figure, days func(*testing.T, *lifecycle.Life, float64) float64) verdict {
	cool, warm := f.rooms(t)
	return between(days(t, onHost(t, f.life(t), lifecycle.FastHost), warm), f.printed, days(t, onHost(t, f.life(t), lifecycle.SlowHost), cool))
}

func onHost(t *testing.T, l *lifecycle.Life, factor float64) *lifecycle.Life {
	t.Helper()
	on, err := l.OnHost(factor)
	require.NoError(t, err)
	return on
}

func wait(t *testing.T, l *lifecycle.Life, celsius float64) float64 {
	t.Helper()
	d, err := l.PreLaying(celsius)
	require.NoError(t, err)
	return d
}

func (f figure) adult(t *testing.T, l *lifecycle.Life, celsius float64) float64 {
	t.Helper()
	d, err := l.AdultDays(celsius)
	require.NoError(t, err)
	return d
}

func (f figure) growth(t *testing.T, host, celsius float64) lifecycle.Growth {
	t.Helper()
	g, err := onHost(t, f.life(t), host).Growth(celsius)
	require.NoError(t, err)
	return g
}

// fastest is the highest rate of increase at any temperature.
func (f figure) fastest(t *testing.T) float64 {
	t.Helper()
	most := 0.0
	for c := 15.0; c < f.life(t).Lethal(); c += 0.5 {
		most = max(most, f.growth(t, 1, c).R)
	}
	return most
}

// lower is our threshold of the span's first stage.
func (f figure) lower(t *testing.T) float64 {
	t.Helper()
	p, err := refdata.Get(f.species)
	require.NoError(t, err)
	return stageNamed(t, &p, cutSpan(f.span)).Lower.Central
}

func cutSpan(span string) string {
	for i := range span {
		if span[i] == '.' {
			return span[:i]
		}
	}
	return span
}

// atEach holds a printed constant above a printed threshold against our times at
// some temperatures, and gives the first verdict that disagrees.
func (f figure) atEach(t *testing.T, hold func(ours, printed, tolerance float64) verdict) verdict {
	t.Helper()
	var last verdict
	for _, c := range f.numbers(t, "at") {
		printed := f.printed / (c - f.numbers(t, "lower")[0])
		if last = hold(f.days(t, f.life(t), c), printed, tolerance(c)); !last.agrees {
			return last
		}
	}
	return last
}

// line is the threshold and the constant of the straight line through the paper's
// own times, as least squares of the rates give it.
func (f figure) line(t *testing.T) (lower, constant float64) {
	t.Helper()
	celsius, days := f.pairs(t, "points")
	var sx, sy, sxx, sxy float64
	n := float64(len(celsius))
	for i, c := range celsius {
		rate := 1 / days[i]
		sx, sy, sxx, sxy = sx+c, sy+rate, sxx+c*c, sxy+c*rate
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return sx/n - sy/n/slope, 1 / slope
}

func (f figure) survival(t *testing.T) float64 {
	t.Helper()
	p, err := refdata.Get(f.species)
	require.NoError(t, err)
	first, last := 0, len(p.Stages)-1
	if f.span != "" {
		first = stageNumber(t, &p, cutSpan(f.span))
	}
	share, l := 1.0, f.life(t)
	for i := first; i <= last; i++ {
		share *= l.Survival(i)
	}
	return share
}

// lives holds that young become adult at a temperature, or that none do. The
// temperature may be the printed figure itself.
func (f figure) lives(t *testing.T, expected bool) verdict {
	t.Helper()
	at := f.celsius
	if at == 0 {
		at = f.printed
	}
	_, err := f.life(t).Immature(at)
	require.True(t, err == nil || errors.Is(err, lifecycle.ErrNever))
	return verdict{(err == nil) == expected, fmt.Sprintf("at %.4g degrees: %v", at, err)}
}
