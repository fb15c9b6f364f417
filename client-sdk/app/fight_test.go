package app

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
)

// visitor is a phone whose owner looks round in the sample household, by a clock that
// starts at a noon that is always the same. Each phone of a world has other ids and so another seed.
func (w *world) visitor() *phone {
	p := w.phone()
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC).UnixMilli()
	p.options.Replica.Wall = func() int64 { return noon + w.clock.Milliseconds() }
	p.restart("")
	p.do(screens.ActSample)
	return p
}

// history is the one outbreak that runs, as the models take it.
func (p *phone) history() history {
	var in history
	p.house.Read(func(b *model.Book) {
		open := openOutbreaks(b)
		require.Len(p.t, open, 1)
		var ok bool
		in, ok = p.gather(b, open[0])
		require.True(p.t, ok)
	})
	return in
}

// alone is a world without a server.
func alone(t testing.TB) *world {
	return &world{t: t, origin: "http://127.0.0.1:9", clock: new(time.Duration)} // nobody answers there
}

func unwatched() *watch {
	return &watch{tell: func(int, int) {}, stopped: func() bool { return false }}
}

// Whoever looks round sees a fight that is being won, whatever the seed: plans that
// reach their aim, a forecast that falls, and a chance of being clear that clean looks
// would raise.
func TestSampleIsAFightThatIsBeingWon(t *testing.T) {
	w := alone(t)
	for range 6 {
		p := w.visitor()
		in := p.history()
		require.Equal(t, "Big monstera", in.name, "the plant with the photos stands for all")

		found, err := in.find(unwatched())
		require.NoError(t, err)
		fewest, soonest := optionFor(found, plan.FewestSprays), optionFor(found, plan.SoonestOver)
		require.True(t, fewest.Reaches)
		require.True(t, soonest.Reaches)
		require.LessOrEqual(t, fewest.Sprays, soonest.Sprays)
		require.Less(t, soonest.Over, fewest.Over)

		out, err := in.compute(unwatched())
		require.NoError(t, err)
		dawn := func(day int) population.Band { return out.ahead.Dawns[day].Bands[population.All] }
		require.Greater(t, dawn(0).Middle, 2, "it is not over yet")
		require.Less(t, dawn(14).High, dawn(0).High/2)
		require.Less(t, dawn(14).Middle, dawn(0).Middle/2)
		require.LessOrEqual(t, dawn(28).Middle, 1)

		require.InDelta(t, 0.05, out.clear, 0.05)
		require.Greater(t, out.chance(), 0.75, "after the clean looks that are proposed")
	}
}
