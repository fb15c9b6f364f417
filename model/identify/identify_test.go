package identify_test

import (
	"encoding/csv"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/identify"
	"leafturn/model/refdata"
)

var parts = map[string]model.Part{"underside": model.Underside, "top": model.TopSide, "stem": model.Stem, "new_growth": model.NewGrowth,
	"soil": model.Soil, "flower": model.Flower, "leaf_joint": model.LeafJoint, "leaf_stalk": model.LeafStalk}

type textbook struct {
	name, source string
	first        identify.Cause
	o            identify.Observation
}

// cases reads testdata/identify; its README says what the sources are.
func cases(t *testing.T) []textbook {
	file, err := os.Open("../../testdata/identify/textbook.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var all []textbook
	for _, r := range rows[1:] {
		c := textbook{name: r[0], source: r[5], first: causeNamed(t, r[1]),
			o: identify.Observation{Seen: signsNamed(t, r[2]), Absent: signsNamed(t, r[3])}}
		if r[4] != "" {
			require.Contains(t, parts, r[4])
			c.o.Where = []model.Part{parts[r[4]]}
		}
		all = append(all, c)
	}
	return all
}

func causeNamed(t *testing.T, name string) identify.Cause {
	for c := range identify.Cause(identify.Causes) {
		if c.String() == name {
			return c
		}
	}
	require.Fail(t, "no cause", name)
	return 0
}

func signsNamed(t *testing.T, names string) identify.Set {
	var set identify.Set
	for name := range strings.FieldsSeq(names) {
		before := set
		for s := range identify.Sign(identify.NumSigns) {
			if s.String() == name {
				set |= identify.Of(s)
			}
		}
		require.NotEqual(t, before, set, name)
	}
	return set
}

func posterior(t require.TestingT, o identify.Observation) identify.Chances {
	p, err := identify.Posterior(identify.CommonPrior(), o)
	require.NoError(t, err)
	return p
}

func TestTextbook(t *testing.T) {
	for _, c := range cases(t) {
		t.Run(c.source+"/"+c.name, func(t *testing.T) {
			p := posterior(t, c.o)
			ranked := p.Ranked()
			require.Equal(t, c.first.String(), ranked[0].String(), "then %v with %.2f", ranked[1], p[ranked[1]])
		})
	}
}

// Every cause, and with them every species for which figures are kept, can come
// first.
func TestEveryCauseCanComeFirst(t *testing.T) {
	first := map[identify.Cause]bool{}
	pests := map[model.Pest]bool{}
	for _, c := range cases(t) {
		first[c.first] = true
		pests[c.first.Pest()] = true
	}
	require.Len(t, first, identify.Causes)
	for _, s := range refdata.All {
		require.True(t, pests[s.Pest()], s.String())
	}
	for _, p := range model.Pests {
		require.True(t, pests[p], "pest %d", p)
	}
}

// Without a look the answer is the prior; whatever is seen, none of these stays
// possible.
func TestNoneOfTheseIsAlwaysPossible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := posterior(t, draw(t))
		sum := 0.0
		for _, v := range p {
			require.False(t, math.IsNaN(v) || v < 0 || v > 1)
			sum += v
		}
		require.InDelta(t, 1, sum, 1e-9)
		require.GreaterOrEqual(t, p[identify.Other], 0.01)
	})
	p, prior := posterior(t, identify.Observation{}), identify.CommonPrior()
	for c := range prior {
		require.InDelta(t, prior[c], p[c], 0.011)
	}
}

func draw(t *rapid.T) identify.Observation {
	var o identify.Observation
	for s := range identify.Sign(identify.NumSigns) {
		switch rapid.IntRange(0, 3).Draw(t, s.String()) {
		case 0:
			o.Seen |= identify.Of(s)
		case 1:
			o.Absent |= identify.Of(s)
		}
	}
	if rapid.Bool().Draw(t, "where") {
		o.Where = []model.Part{rapid.SampledFrom(model.Parts).Draw(t, "part")}
	}
	return o
}

// unlooked draws a sign that was not looked at.
func unlooked(t *rapid.T, o identify.Observation) (identify.Sign, bool) {
	s := identify.Sign(rapid.IntRange(0, identify.NumSigns-1).Draw(t, "sign"))
	return s, !(o.Seen | o.Absent).Has(s)
}

// Seeing a sign moves the odds of two causes the way the table's chances stand, and
// missing it moves them the other way.
func TestSignsMoveOddsTheRightWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := draw(t)
		s, open := unlooked(t, o)
		if !open {
			return
		}
		a := identify.Cause(rapid.IntRange(0, identify.Causes-2).Draw(t, "a"))
		b := identify.Cause(rapid.IntRange(0, identify.Causes-2).Draw(t, "b"))
		cellA, err := identify.CellOf(s, a)
		require.NoError(t, err)
		cellB, err := identify.CellOf(s, b)
		require.NoError(t, err)
		before, seen, absent := posterior(t, o), posterior(t, with(o, s, true)), posterior(t, with(o, s, false))
		odds := func(p identify.Chances) float64 { return math.Log(p[a]) - math.Log(p[b]) }
		require.InDelta(t, math.Log(cellA.Chance/cellB.Chance), odds(seen)-odds(before), 1e-6)
		require.InDelta(t, math.Log((1-cellA.Chance)/(1-cellB.Chance)), odds(absent)-odds(before), 1e-6)
	})
}

func with(o identify.Observation, s identify.Sign, seen bool) identify.Observation {
	if seen {
		o.Seen |= identify.Of(s)
	} else {
		o.Absent |= identify.Of(s)
	}
	return o
}

// A sign that no other cause shows more often never speaks against its cause.
func TestTellingSignNeverSpeaksAgainst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := draw(t)
		s, open := unlooked(t, o)
		if !open {
			return
		}
		best, chance := identify.Other, 0.0
		for c := range identify.Cause(identify.Causes) {
			if cell, _ := identify.CellOf(s, c); cell.Chance > chance {
				best, chance = c, cell.Chance
			}
		}
		before, after := posterior(t, o), posterior(t, with(o, s, true))
		require.GreaterOrEqual(t, after[best], before[best]-1e-9)
	})
}

// neverOnCards is what cards do not catch.
var neverOnCards = []identify.Cause{identify.SpiderMite, identify.Mealybug, identify.RootMealybug, identify.SoftScale,
	identify.ArmouredScale, identify.BudMite, identify.GreenhouseThrips}

// An empty card never makes mites, mealybugs or scales less likely, and whatever a
// card shows, it leaves the odds between them and against no pest at all as they
// were.
func TestCardsNeverArgueAgainstMites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := draw(t)
		o.Seen &^= identify.Card
		o.Absent &^= identify.Card
		before := posterior(t, o)
		empty := o
		empty.Absent |= identify.Card
		after := posterior(t, empty)
		shows := o
		shows.Seen |= identify.Card & identify.Set(rapid.Uint64().Draw(t, "card"))
		caught := posterior(t, shows)
		for _, c := range neverOnCards {
			require.GreaterOrEqual(t, after[c], before[c]-1e-12, c.String())
			for _, none := range append(neverOnCards, identify.Water, identify.Light, identify.Feeding) {
				odds := math.Log(before[c]) - math.Log(before[none])
				require.InDelta(t, odds, math.Log(after[c])-math.Log(after[none]), 1e-9)
				require.InDelta(t, odds, math.Log(caught[c])-math.Log(caught[none]), 1e-9)
			}
		}
	})
}

// Aphids without wings are not caught either, so an empty card says far less against
// aphids than against whitefly.
func TestEmptyCardSaysLittleAgainstAphids(t *testing.T) {
	o := identify.Observation{Seen: identify.Of(identify.Honeydew)}
	before := posterior(t, o)
	o.Absent = identify.Card
	after := posterior(t, o)
	require.GreaterOrEqual(t, after[identify.Aphid], 0.75*before[identify.Aphid])
	require.Less(t, after[identify.Whitefly], 0.4*before[identify.Whitefly])
}

func TestHoneydewTellsScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := identify.Observation{Seen: identify.Of(identify.BrownBumps)}
		if rapid.Bool().Draw(t, "stippling") {
			o.Absent |= identify.Of(identify.Stippling)
		}
		o.Where = []model.Part{rapid.SampledFrom([]model.Part{model.Stem, model.Underside, model.TopSide}).Draw(t, "part")}
		sticky, dry := posterior(t, with(o, identify.Honeydew, true)), posterior(t, with(o, identify.Honeydew, false))
		require.Greater(t, sticky[identify.SoftScale], 20*sticky[identify.ArmouredScale])
		require.Greater(t, dry[identify.ArmouredScale], dry[identify.SoftScale])
	})
	p := posterior(t, identify.Observation{Seen: identify.Of(identify.BrownBumps)})
	require.InDelta(t, p[identify.SoftScale]+p[identify.ArmouredScale], p.Pest(model.PestScale), 1e-12)
}

// Naming a part twice says no more than naming it once: parts are one place.
func TestPartsAreOnePlace(t *testing.T) {
	once := posterior(t, identify.Observation{Where: []model.Part{model.LeafJoint}})
	twice := posterior(t, identify.Observation{Where: []model.Part{model.LeafJoint, model.LeafJoint}})
	require.InDeltaSlice(t, once[:], twice[:], 1e-12)
	require.Equal(t, identify.Mealybug, once.Ranked()[0])
	require.Equal(t, identify.FungusGnat, rankedFirst(t, model.Soil))
	require.Equal(t, identify.SpiderMite, rankedFirst(t, model.Underside))
}

func rankedFirst(t *testing.T, part model.Part) identify.Cause {
	p := posterior(t, identify.Observation{Where: []model.Part{part}})
	return p.Ranked()[0]
}

func TestNext(t *testing.T) {
	bumps := identify.Observation{Seen: identify.Of(identify.BrownBumps)}
	next, err := identify.Next(identify.CommonPrior(), bumps, identify.Every, 3)
	require.NoError(t, err)
	require.Len(t, next, 3)
	require.Equal(t, identify.Honeydew, next[0].Sign, "the one thing that tells scales apart")
	next, err = identify.Next(identify.CommonPrior(), bumps, identify.Card, 9)
	require.NoError(t, err)
	require.Len(t, next, 4)
	next, err = identify.Next(identify.CommonPrior(), identify.Observation{Absent: identify.Every}, identify.Every, 9)
	require.NoError(t, err)
	require.Empty(t, next)
}

// The expected bits are what the two answers leave, weighted by how likely each is.
func TestNextIsTheExpectedInformation(t *testing.T) {
	entropy := func(p identify.Chances) float64 {
		h := 0.0
		for _, v := range p {
			if v > 0 {
				h -= v * math.Log2(v)
			}
		}
		return h
	}
	rapid.Check(t, func(t *rapid.T) {
		o := draw(t)
		next, err := identify.Next(identify.CommonPrior(), o, identify.Every, identify.NumSigns)
		require.NoError(t, err)
		now := posterior(t, o)
		for i, q := range next {
			require.False(t, (o.Seen | o.Absent).Has(q.Sign))
			if i > 0 {
				require.LessOrEqual(t, q.Bits, next[i-1].Bits)
			}
			left, total := 0.0, 0.0
			for _, seen := range []bool{true, false} {
				var joint identify.Chances
				sum := 0.0
				for c := range joint {
					cell, err := identify.CellOf(q.Sign, identify.Cause(c))
					require.NoError(t, err)
					joint[c] = now[c] * cell.Chance
					if !seen {
						joint[c] = now[c] * (1 - cell.Chance)
					}
					sum += joint[c]
				}
				for c := range joint {
					joint[c] /= sum
				}
				left += sum * entropy(joint)
				total += sum
			}
			require.InDelta(t, 1, total, 1e-9)
			require.InDelta(t, entropy(now)-left, q.Bits, 1e-9)
		}
	})
}

func TestWhy(t *testing.T) {
	o := identify.Observation{Seen: identify.Of(identify.Stippling, identify.Yellowing), Absent: identify.Of(identify.Webbing)}
	why, err := identify.Why(identify.CommonPrior(), o, identify.SpiderMite)
	require.NoError(t, err)
	require.Len(t, why, 3)
	require.Equal(t, identify.Stippling, why[0].Sign)
	require.Greater(t, why[0].Bits, 2.0)
	for _, r := range why {
		if r.Sign == identify.Webbing {
			require.False(t, r.Seen)
			require.Less(t, r.Bits, 0.0)
		}
	}
	_, err = identify.Why(identify.CommonPrior(), o, identify.Causes)
	require.ErrorIs(t, err, identify.ErrInput)
}

func TestFromInspection(t *testing.T) {
	o := identify.FromInspection(&model.Inspection{Findings: []model.Finding{
		{Part: model.Underside, Signs: model.StickyHoneydew | model.FliesWhenTouched, Counts: model.Counts{4, 0, 2, 0}},
		{Part: model.Soil, Signs: model.WhiteFluff, Counts: model.Counts{0, 0, 3, 0}},
	}})
	require.Equal(t, identify.Of(identify.Honeydew, identify.Flyers, identify.EggsSeen, identify.RestingSeen, identify.RootFluff), o.Seen)
	require.Zero(t, o.Absent, "what was not logged was not looked for")
	require.Equal(t, []model.Part{model.Underside, model.Soil}, o.Where)
	p := posterior(t, identify.FromInspection(&model.Inspection{Findings: []model.Finding{
		{Part: model.Underside, Signs: model.StickyHoneydew | model.FliesWhenTouched, Counts: model.Counts{0, 0, 2, 5}}}}))
	require.Equal(t, identify.Whitefly, p.Ranked()[0])
}
