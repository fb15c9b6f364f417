package evidence_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/evidence"
)

func BenchmarkSampleSize(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := evidence.SampleSize(2000, 20, 0.7, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

// Two years of weekly looks at three parts.
func BenchmarkChance(b *testing.B) {
	h := plant()
	for i := range 104 {
		h.Events = append(h.Events, look(7*i, ada, 0.5, model.Underside, model.NewGrowth, model.Stem))
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.Chance(start.Add(730)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMore(b *testing.B) {
	h := plant(look(0, ada, 0.5, model.Underside))
	ask := evidence.MoreLooks{Target: 0.95, First: start.Add(1), Last: start.Add(120), Who: ada, Parts: []evidence.Seen{{Part: model.Underside, Chance: 0.5}}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.More(ask); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTrend(b *testing.B) {
	counts := series(60, 31, 14, 8, 3, 5, 2, 0)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := evidence.TrendOf(counts, 0.8); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkClopperPearson(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		in, err := evidence.ClopperPearson(25, 200, 0.95)
		require.NoError(b, err)
		require.Less(b, in.Upper, 1.0)
	}
}
