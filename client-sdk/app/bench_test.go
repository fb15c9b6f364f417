package app

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
)

// The parts of what an outbreak's page and its plans work out, on the sample.
func BenchmarkOutbreak(b *testing.B) {
	p := alone(b).visitor()
	var in history
	p.house.Read(func(book *model.Book) {
		for _, o := range openOutbreaks(book) {
			in, _ = p.gather(book, o)
		}
	})
	quiet := func() *watch {
		return &watch{tell: func(int, int) {}, stopped: func() bool { return false }}
	}
	now, err := in.reach(quiet())
	require.NoError(b, err)
	kills, err := now.model.Kills(len(now.days), in.done)
	require.NoError(b, err)
	for name, part := range map[string]func(*outlook) error{
		"reach": func(*outlook) error { _, err := in.reach(quiet()); return err },
		"forecast": func(o *outlook) (err error) {
			o.ahead, err = population.Forecast(population.Plant{Cloud: now.cloud, Climate: now.climate, Kills: kills, Arrivals: arrivals}, now.cloud.Day()+aheadDays, runs, in.seed, nil)
			return err
		},
		"clean looks": func(o *outlook) error { return in.cleanLooks(now, kills, quiet(), o) },
		"trace":       func(o *outlook) error { return in.traceBack(now, kills, quiet(), o) },
		"plans":       func(*outlook) error { _, err := in.find(quiet()); return err },
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, part(&outlook{}))
			}
		})
	}
}
