package identify_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/identify"
)

func TestRefuses(t *testing.T) {
	good := identify.CommonPrior()
	negative, nan, none := good, good, identify.Chances{}
	negative[0], nan[3] = -0.1, math.NaN()
	for name, c := range map[string]struct {
		prior identify.Chances
		o     identify.Observation
	}{
		"seen and absent":  {good, identify.Observation{Seen: 1, Absent: 3}},
		"an unknown sign":  {good, identify.Observation{Seen: 1 << identify.NumSigns}},
		"an unknown part":  {good, identify.Observation{Where: []model.Part{77}}},
		"no part":          {good, identify.Observation{Where: []model.Part{0}}},
		"a negative prior": {negative, identify.Observation{}},
		"not a number":     {nan, identify.Observation{}},
		"no prior at all":  {none, identify.Observation{}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := identify.Posterior(c.prior, c.o)
			require.ErrorIs(t, err, identify.ErrInput)
			_, err = identify.Next(c.prior, c.o, identify.Every, 1)
			require.ErrorIs(t, err, identify.ErrInput)
		})
	}
	_, err := identify.CellOf(identify.NumSigns, 0)
	require.ErrorIs(t, err, identify.ErrInput)
}

// Every cell says where it comes from, and what it says fits its chance.
func TestCells(t *testing.T) {
	within := map[string][2]float64{"yes": {0.4, 0.95}, "some": {0.1, 0.5}, "rare": {0.02, 0.12}, "no": {0.005, 0.3}}
	for s := range identify.Sign(identify.NumSigns) {
		for c := range identify.Cause(identify.Causes) {
			cell, err := identify.CellOf(s, c)
			require.NoError(t, err)
			require.NotEmpty(t, cell.Source)
			require.Contains(t, within, cell.Says)
			require.True(t, within[cell.Says][0] <= cell.Chance && cell.Chance <= within[cell.Says][1], "%v %v %+v", s, c, cell)
		}
	}
}

func FuzzPosterior(f *testing.F) {
	f.Add(uint64(3), uint64(4), byte(2), 0.5)
	f.Fuzz(func(t *testing.T, seen, absent uint64, part byte, weight float64) {
		prior := identify.CommonPrior()
		prior[part%identify.Causes] = weight
		o := identify.Observation{Seen: identify.Set(seen), Absent: identify.Set(absent), Where: []model.Part{model.Part(part)}}
		p, err := identify.Posterior(prior, o)
		if err != nil {
			require.ErrorIs(t, err, identify.ErrInput)
			return
		}
		for _, v := range p {
			require.True(t, v >= 0 && v <= 1)
		}
		next, err := identify.Next(prior, o, identify.Every, 5)
		require.NoError(t, err)
		for _, q := range next {
			require.True(t, q.Bits >= 0 && q.Bits <= 1)
		}
	})
}

func BenchmarkPosterior(b *testing.B) {
	o := identify.Observation{Seen: identify.Of(identify.Stippling, identify.Yellowing), Absent: identify.Of(identify.Webbing, identify.Honeydew)}
	prior := identify.CommonPrior()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := identify.Posterior(prior, o); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	o := identify.Observation{Seen: identify.Of(identify.Stippling)}
	prior := identify.CommonPrior()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := identify.Next(prior, o, identify.Every, 3); err != nil {
			b.Fatal(err)
		}
	}
}
