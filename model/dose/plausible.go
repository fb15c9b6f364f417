package dose

import "leafturn/model"

// Place is where an entered rate lies against what public pages print.
type Place uint8

// The places.
const (
	NoBand   Place = 0 // nothing to hold it against: another kind of product or unit
	NoRate   Place = 1 // no rate entered
	TooLow   Place = 2 // below the band: perhaps a slip of the decimal point
	Expected Place = 3
	TooHigh  Place = 4 // above the band: read the label again
)

// Band is the strengths of a kind of product that pages print, in thousandths of a
// millilitre per litre. It is for spotting slips of the pen only. No rate is ever
// taken from it; the label alone gives one.
type Band struct {
	LowMilli, HighMilli int
	Sources             []string // ids of testdata/published/treatments.md
}

// bands are per means; what is not here has too many kinds of labels for a band.
var bands = map[model.Means]Band{
	model.MeansSoap: {10_000, 20_000, []string{"LWB"}},              // 1 to 2 %
	model.MeansOil:  {5_000, 30_000, []string{"memory", "YARDOIL"}}, // 0.5 % from memory, 3 % outdoors
}

// Plausible compares the rate that was entered from a label with the band of its
// kind, if there is one. A tenth outside is still expected: kitchen measures come
// in round numbers, and a page that says two per cent can print 2.08.
func Plausible(p *model.Product) (Place, Band) {
	band, ok := bands[p.Means]
	if !ok || (p.RateUnit != model.RateMlPerLitre && p.RateUnit != 0) {
		return NoBand, Band{}
	}
	switch rate := p.RateMilli; {
	case rate <= 0 || p.RateUnit == 0:
		return NoRate, band
	case rate*10 < band.LowMilli*9:
		return TooLow, band
	case rate*10 > band.HighMilli*11:
		return TooHigh, band
	}
	return Expected, band
}
