package population

import (
	"fmt"
	"math"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
)

// ErrAct is returned for a treatment that cannot be reckoned with: of no known
// means, before the first day, or with shares outside 0 to 1.
var ErrAct = fault.New("treatment_impossible", "A treatment in this forecast cannot be right: check its day and how it works.")

// Span is a band of a share: what a poor, and what a thorough hand reaches.
type Span struct{ Low, High float64 }

func (s Span) at(skill float64) float64 { return s.Low + skill*(s.High-s.Low) }

// then is what two treatments of one day do together.
func (s Span) then(t Span) Span {
	return Span{1 - (1-s.Low)*(1-t.Low), 1 - (1-s.High)*(1-t.High)}
}

func (s Span) times(f float64) Span { return Span{s.Low * f, s.High * f} }

// Act is a treatment on a day of a climate. Days before 0 are treatments that were
// done before it began and may still work.
type Act struct {
	Day    int
	Means  model.Means
	Active string       // active ingredient, as on the label; it may be empty
	Parts  []model.Part // where it went; none means everywhere
}

// killRow is the share that dies of each stage on a day.
type killRow [maxStages]Span

// Kills is the share of each stage that treatments kill on each day.
type Kills struct {
	rows []killRow
	any  []bool
}

func (k *Kills) row(d int) *killRow {
	if k == nil || d >= len(k.any) || !k.any[d] {
		return nil
	}
	return &k.rows[d]
}

// Kills works out what treatments do on each of n days.
func (m *Model) Kills(n int, acts []Act) (*Kills, error) {
	if n < 1 || n > MaxDays {
		return nil, ErrDays
	}
	k := &Kills{rows: make([]killRow, n), any: make([]bool, n)}
	for _, a := range acts {
		if err := k.Add(m, a); err != nil {
			return nil, err
		}
	}
	return k, nil
}

// Add puts one more treatment in.
func (k *Kills) Add(m *Model, a Act) error {
	if a.Day < -MaxDays || a.Day >= len(k.rows) || a.Means < model.MeansSoap || a.Means > model.MeansWater {
		return fmt.Errorf("treatment on day %d: %w", a.Day, ErrAct)
	}
	e := EffectOf(a.Means, a.Active)
	for i := range m.stages {
		hit := m.hit(&m.stages[i], a)
		k.addOn(a.Day+e.Delay, i, hit.by(e.Kill))
		for after := 1; after <= e.Lasts; after++ {
			k.addOn(a.Day+e.Delay+after, i, hit.by(e.Later).times(e.fade(after)))
		}
	}
	return nil
}

func (s Span) by(t Span) Span { return Span{s.Low * t.Low, s.High * t.High} }

func (k *Kills) addOn(d, stage int, s Span) {
	if d < 0 || d >= len(k.rows) || s.High <= 0 {
		return
	}
	k.any[d] = true
	k.rows[d][stage] = k.rows[d][stage].then(s)
}

// Reset empties the table for use again.
func (k *Kills) Reset() {
	clear(k.rows)
	clear(k.any)
}

// hit is the share of a stage that a treatment reaches where it went: the reach
// of its means when done well, times the part of the stage's places treated. The
// band of the reach is that of one application. Over a course half of its width
// averages out, by our judgement, and half is what a keeper always does alike.
func (m *Model) hit(s *stage, a Act) Span {
	share := s.data.Reach[a.Means].Level.Share()
	reach := Span{(share.Low + share.Central) / 2, (share.Central + share.High) / 2}
	if len(a.Parts) == 0 || a.Means == model.MeansSystemicSoil {
		return reach
	}
	return reach.times(cover(s.data.Parts, a.Parts))
}

// cover is the part of a stage's animals that live where a treatment went. Where
// several parts of the plant hold them, each is taken to hold half as many as the
// one before it in order of likelihood; our judgement. A stage without places of
// its own is met by a spray that went anywhere on the plant.
func cover(lives, went []model.Part) float64 {
	if len(lives) == 0 {
		return 1
	}
	all, met := 0.0, 0.0
	for i, p := range lives {
		w := math.Pow(0.5, float64(i))
		all += w
		if slices.Contains(went, p) {
			met += w
		}
	}
	return met / all
}

// pow is x to the power of y, 0 for no x.
func pow(x, y float64) float64 {
	if x <= 0 {
		return 0
	}
	return math.Pow(x, y)
}
