package refdata_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/refdata"
)

func profile(t *testing.T, s refdata.Species) refdata.Profile {
	t.Helper()
	p, err := refdata.Get(s)
	require.NoError(t, err)
	return p
}

// values gives every value of a profile by a name.
func values(p *refdata.Profile) map[string]refdata.Value {
	m := map[string]refdata.Value{
		"upper": p.Upper, "lethal": p.Lethal, "spread": p.Spread, "adult prelaying": p.Adult.PreLaying, "adult laying": p.Adult.Laying,
		"adult young": p.Adult.Young, "adult female": p.Adult.Female, "adult spread": p.Adult.Spread,
		"adult lower": p.Adult.Lower, "adult constant": p.Adult.Constant,
	}
	stages := append(slices.Clone(p.Stages), p.Adult.Stage)
	for _, s := range stages {
		m[s.Name+" lower"], m[s.Name+" constant"] = s.Lower, s.Constant
		if s.Name != "adult" {
			m[s.Name+" survival"] = s.Survival
		}
		for _, w := range refdata.Ways {
			m[s.Name+" seen"+string(rune('0'+w))] = s.Seen[w]
		}
	}
	return m
}

func TestEveryValueIsABandWithASource(t *testing.T) {
	for _, s := range refdata.All {
		p := profile(t, s)
		for name, v := range values(&p) {
			t.Run(s.String()+"/"+name, func(t *testing.T) {
				require.True(t, v.Known())
				require.NotZero(t, v.Unit)
				require.NotZero(t, v.Basis())
				require.LessOrEqual(t, v.Low, v.Central)
				require.LessOrEqual(t, v.Central, v.High)
				if v.Unit == refdata.Share || v.Unit == refdata.Chance {
					require.GreaterOrEqual(t, v.Low, 0.0)
					require.LessOrEqual(t, v.High, 1.0)
				}
				if v.Basis() == refdata.Published || v.Basis() == refdata.Derived {
					require.NotEmpty(t, v.Sources(), "a figure that is not from memory names its page")
				}
				for _, id := range v.Sources() {
					_, ok := refdata.Find(id)
					require.True(t, ok, id)
				}
			})
		}
	}
}

func TestEveryProfileHangsTogether(t *testing.T) {
	for _, s := range refdata.All {
		t.Run(s.String(), func(t *testing.T) {
			p := profile(t, s)
			require.Equal(t, s, p.Species)
			require.NotEqual(t, model.PestUnknown, s.Pest())
			require.NotEmpty(t, s.Latin())
			sum, lower := 0.0, p.Stages[0].Lower.Central
			for _, st := range p.Stages {
				sum += st.Constant.Central
				require.NotZero(t, st.Where)
				require.NotEmpty(t, st.Parts)
				require.InDelta(t, lower, st.Lower.Central, 1e-9, "one central threshold for the young of a species")
				require.NotEqual(t, model.Adults, st.As)
			}
			require.InDelta(t, p.Fits[0].Constant, sum, 0.2, "the stages make up the first fit")
			require.InDelta(t, p.Fits[0].Lower, lower, 1e-9)
			require.Equal(t, model.Adults, p.Adult.As)
			require.LessOrEqual(t, p.Adult.PreLaying.Central+p.Adult.Laying.Central, p.Adult.Constant.Central+1e-9, "nobody lays when dead")
			require.Less(t, p.Upper.Central, p.Lethal.Central)
			require.Equal(t, p.Stages[0].As != model.Eggs, p.Live())
		})
	}
}

func TestEveryReachNamesItsSource(t *testing.T) {
	for _, s := range refdata.All {
		p := profile(t, s)
		for _, st := range append(slices.Clone(p.Stages), p.Adult.Stage) {
			for means := model.MeansSoap; means <= model.MeansWater; means++ {
				r := st.Reach[means]
				require.NotZero(t, r.Basis(), "%s %s %d", s, st.Name, means)
				for id := range strings.FieldsSeq(r.Source) {
					_, ok := refdata.Find(id)
					require.True(t, ok || id == "memory", id)
				}
			}
		}
	}
}

func TestFitsNameTheirSources(t *testing.T) {
	for _, s := range refdata.All {
		p := profile(t, s)
		for i, f := range p.Fits {
			require.Positive(t, f.Constant)
			require.NotEmpty(t, f.Span)
			require.NotEmpty(t, f.Source)
			require.True(t, i == 0 || s == refdata.ThripsUnknown || f.Note != "" || f.Span != p.Fits[0].Span, "%s fit %d says why it is not used", s, i)
		}
	}
}

func TestCardsNeverShow(t *testing.T) {
	for _, s := range []refdata.Species{
		refdata.TwoSpottedMite, refdata.BroadMite, refdata.CitrusMealybug, refdata.RootMealybug, refdata.BrownSoftScale,
		refdata.HemisphericalScale, refdata.ArmouredScale,
	} {
		p := profile(t, s)
		for _, st := range append(slices.Clone(p.Stages), p.Adult.Stage) {
			require.Zero(t, st.Seen[refdata.Card].High, "%s %s", s, st.Name)
			require.Equal(t, []string{"UCON-CARD"}, st.Seen[refdata.Card].Sources())
		}
	}
	for _, s := range []refdata.Species{refdata.WesternFlowerThrips, refdata.GreenhouseWhitefly, refdata.FungusGnat} {
		p := profile(t, s)
		require.Positive(t, p.Adult.Seen[refdata.Card].Low, s)
	}
}

func TestSystemicsMissMitesAndArmouredScale(t *testing.T) {
	for _, s := range []refdata.Species{refdata.TwoSpottedMite, refdata.ArmouredScale} {
		p := profile(t, s)
		for _, st := range append(slices.Clone(p.Stages), p.Adult.Stage) {
			require.Equal(t, refdata.Missed, st.Reach[model.MeansSystemicSoil].Level, "%s %s", s, st.Name)
			require.Equal(t, refdata.Published, st.Reach[model.MeansSystemicSoil].Basis())
		}
	}
}

func TestThripsUnknownHoldsBoth(t *testing.T) {
	a, b, u := profile(t, refdata.WesternFlowerThrips), profile(t, refdata.OnionThrips), profile(t, refdata.ThripsUnknown)
	wa, wb, wu := values(&a), values(&b), values(&u)
	for name, v := range wu {
		require.InDelta(t, min(wa[name].Low, wb[name].Low), v.Low, 1e-12, name)
		require.InDelta(t, max(wa[name].High, wb[name].High), v.High, 1e-12, name)
		require.InDelta(t, (wa[name].Central+wb[name].Central)/2, v.Central, 1e-12, name)
		require.Equal(t, max(wa[name].Basis(), wb[name].Basis()) == refdata.Memory, v.Basis() == refdata.Memory, name)
	}
	require.Equal(t, []refdata.Species{refdata.WesternFlowerThrips, refdata.OnionThrips}, refdata.ThripsUnknown.Kinds())
	require.Len(t, u.Fits, 1+len(a.Fits)+len(b.Fits))
}

func TestEveryPestOfTheRecordsHasSpecies(t *testing.T) {
	for _, p := range model.Pests {
		of := refdata.Of(p)
		if p == model.PestUnknown {
			require.Empty(t, of)
			continue
		}
		require.NotEmpty(t, of)
		for _, s := range of {
			require.Equal(t, p, s.Pest())
		}
	}
	seen := map[refdata.Species]bool{}
	for _, p := range model.Pests {
		for _, s := range refdata.Of(p) {
			seen[s] = true
		}
	}
	require.Len(t, seen, len(refdata.All), "every species is reached from a pest")
}

func TestNoSuchSpecies(t *testing.T) {
	for _, s := range []refdata.Species{0, refdata.BroadMite + 1, 255} {
		_, err := refdata.Get(s)
		require.ErrorIs(t, err, refdata.ErrSpecies)
		require.False(t, s.Valid())
		require.Empty(t, s.Kinds())
		require.Equal(t, model.PestUnknown, s.Pest())
	}
}

func TestGetIsTheCallersOwn(t *testing.T) {
	p := profile(t, refdata.TwoSpottedMite)
	p.Stages[0].Constant.Central = math.NaN()
	p.Stages[0].Parts[0] = model.Soil
	p.Fits[0].Constant = 0
	again := profile(t, refdata.TwoSpottedMite)
	require.False(t, math.IsNaN(again.Stages[0].Constant.Central))
	require.Equal(t, model.Underside, again.Stages[0].Parts[0])
	require.Equal(t, model.Underside, again.Stages[1].Parts[0], "stages that share a list of parts must not share the caller's")
	require.Positive(t, again.Fits[0].Constant)
}

func TestSourcesAreInOrder(t *testing.T) {
	list := refdata.Sources()
	require.True(t, slices.IsSortedFunc(list, func(a, b refdata.Source) int { return strings.Compare(a.ID, b.ID) }))
	for _, s := range list {
		found, ok := refdata.Find(s.ID)
		require.True(t, ok)
		require.Equal(t, s, found)
		require.Contains(t, []refdata.Grade{refdata.Paper, refdata.Extension, refdata.SecondHand}, s.Grade)
	}
	_, ok := refdata.Find("no such source")
	require.False(t, ok)
}

func TestLevelsAreOrdered(t *testing.T) {
	require.Zero(t, refdata.Missed.Share().High)
	require.Less(t, refdata.Partly.Share().Central, refdata.Reached.Share().Central)
	require.Equal(t, refdata.Memory, refdata.Reached.Share().Basis())
}

func BenchmarkGet(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := refdata.Get(refdata.ThripsUnknown); err != nil {
			b.Fatal(err)
		}
	}
}

func TestWhereToLook(t *testing.T) {
	for species, want := range map[refdata.Species][]model.Part{
		refdata.ThripsUnknown:      {model.Underside, model.NewGrowth}, // what rests in the mix is not worth looking for
		refdata.GreenhouseWhitefly: {model.Underside, model.NewGrowth},
		refdata.CitrusMealybug:     {model.Underside, model.LeafJoint},
		refdata.FungusGnat:         {model.Soil},
		refdata.RootMealybug:       {model.Soil},
		refdata.BroadMite:          {model.NewGrowth, model.Flower},
	} {
		p, err := refdata.Get(species)
		require.NoError(t, err)
		require.Equal(t, want, p.LookAt(), "%v", species)
	}
	for _, s := range refdata.All {
		p, err := refdata.Get(s)
		require.NoError(t, err)
		require.NotEmpty(t, p.LookAt(), "%v", s)
	}
}
