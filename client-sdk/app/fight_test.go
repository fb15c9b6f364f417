package app

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
)

// seeds is how many seeds the tests of fights try; with the race detector each takes
// seconds.
var seeds = flag.Int("seeds", 3, "seeds to try outbreaks with")

// visitor is a phone whose owner looks round in the sample household. Each phone of a
// world has other ids and so another seed.
func (w *world) visitor() *phone {
	p := w.phone()
	p.do(screens.ActSample)
	return p
}

// history is a running outbreak as the models take it: the only one if none is named.
func (p *phone) history(outbreak string) history {
	var in history
	p.house.Read(func(b *model.Book) {
		for _, o := range openOutbreaks(b) {
			if outbreak == "" || o.ID.String() == outbreak {
				var ok bool
				in, ok = p.gather(b, o)
				require.True(p.t, ok)
			}
		}
	})
	require.NotZero(p.t, in.outbreak)
	return in
}

func unwatched() *watch {
	return &watch{tell: func(int, int) {}, stopped: func() bool { return false }}
}

// Whoever looks round sees a fight that is being won, whatever the seed: plans that
// reach their aim, a forecast that falls, and a chance of being clear that clean looks
// would raise.
func TestSampleIsAFightThatIsBeingWon(t *testing.T) {
	w := alone(t)
	for range *seeds {
		p := w.visitor()
		in := p.history("")
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

// Seven animals are counted, a plan is taken, and on the next day 130 are counted: the
// plan is asked about, whatever the seed. While nothing new is counted, or about what
// was to be expected, it stands.
func TestCountsBeyondAPlanAreNoticedWhateverTheSeed(t *testing.T) {
	for name, x := range map[string]struct {
		young, adults string
		proposes      bool
	}{
		"many more":         {"90", "40", true},
		"some":              {"6", "2", false},
		"seen, not counted": {"0", "0", false},
	} {
		t.Run(name, func(t *testing.T) {
			w := alone(t)
			p := w.visitor()
			p.do(screens.ActAddPlant, "name", "Ivy", "newplace", "Sill")
			ivy := p.plant("Ivy")
			p.do(screens.ActAddProduct, "name", "Invented soap", "means", "1", "unit", "2", "rate", "20", "perplant", "100", "stock", "4",
				"interval", "5", "season", "12", "pests", "aphids", "cautions", "For houseplants.")
			p.do(screens.ActSaveFinding, "plant", ivy, "part", "1", "sign", "16", "count1", "5", "count3", "2")
			p.do(screens.ActOpenOutbreak, "plant", ivy, "pest", "3")
			outbreak := p.value(`data-outbreak="([0-9a-f-]{36})"`)
			p.open(screens.PlansRoute(outbreak))
			p.do(screens.ActAcceptPlan, "outbreak", outbreak, "option", "1")
			w.pass(day)
			p.do(screens.ActSaveFinding, "plant", ivy, "part", "1", "sign", "16", "count1", x.young, "count3", x.adults)

			in := p.history(outbreak)
			for seed := range *seeds {
				in.seed = uint64(seed)
				now, err := in.reach(unwatched())
				require.NoError(t, err)
				var out outlook
				require.NoError(t, in.recheck(now, nil, nil, &out))
				require.Equal(t, x.proposes, p.proposal(&in, &out) != nil, "seed %d: %v, beyond %v", seed, out.verdict.Chance, out.beyond)
			}
		})
	}
}

// A rinse and the spray of its day are one line of a calendar; what stands otherwise, or
// on another day, is a line of its own.
func TestARinseAndItsSprayAreOneLine(t *testing.T) {
	p := alone(t).visitor()
	line := func(day model.Date, kind model.StepKind, state texts.DueState) dated {
		what := p.App.t.Plans.Step(kind, 3, "soap")
		return dated{day, kind, screens.CourseDay{What: what, State: state, Why: what + "."}}
	}
	var got []string
	days := p.together([]dated{
		line(1, model.StepRinse, texts.Done), line(1, model.StepSpray, texts.Later),
		line(2, model.StepRinse, texts.Later), line(2, model.StepSpray, texts.Later),
		line(3, model.StepSpray, texts.Later), line(3, model.StepWipe, texts.Later),
		line(4, model.StepRinse, texts.Later), line(4, model.StepLook, texts.Later),
	})
	for _, d := range days {
		got = append(got, d.What)
	}
	require.Equal(t, []string{"Rinse 3 plants", "Spray 3 plants: soap", "Rinse and spray 3 plants: soap", "Wipe and spray 3 plants: soap",
		"Rinse 3 plants", "Look at 3 plants"}, got)
	require.Equal(t, "Rinse 3 plants. Spray 3 plants: soap.", days[2].Why, "both say why")
}
