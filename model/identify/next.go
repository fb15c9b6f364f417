package identify

import (
	"cmp"
	"math"
	"slices"
)

// Question is a sign to look at next, and by how many bits looking is expected to
// narrow the causes down.
type Question struct {
	Sign Sign
	Bits float64
}

// Next gives up to n signs to look at next, the most telling first, among those of
// a set that were not looked at yet.
func Next(prior Chances, o Observation, among Set, n int) ([]Question, error) {
	if _, err := Posterior(prior, o); err != nil {
		return nil, err
	}
	t := load()
	logs := t.weigh(&prior, &o)
	now := logs
	normalise(&now)
	open := among & allSigns &^ (o.Seen | o.Absent)
	all := make([]Question, 0, NumSigns)
	for s := range Sign(NumSigns) {
		if open.Has(s) {
			all = append(all, Question{s, t.gain(&now, s)})
		}
	}
	slices.SortStableFunc(all, func(a, b Question) int { return cmp.Compare(b.Bits, a.Bits) })
	return all[:min(max(n, 0), len(all))], nil
}

// Every is all signs, for Next.
const Every = allSigns

// gain is the mutual information of a sign and the cause: the entropy of the answer
// less what of it is left when the cause is known.
func (t *tables) gain(now *Chances, s Sign) float64 {
	seen, left := 0.0, 0.0
	for c, p := range now {
		seen += p * t.cells[s][c].Chance
		left += p * t.doubt[s][c]
	}
	return max(0, entropy(seen)-left)
}

// entropy is that of a sign with this chance, in bits.
func entropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -p*math.Log2(p) - (1-p)*math.Log2(1-p)
}
