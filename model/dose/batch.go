package dose

import "leafturn/model"

// Batch is one mix for a shelf of plants, prepared some times over a course.
type Batch struct {
	Once  Mix    // to prepare each time
	Times int    // how often
	All   Amount // product for the whole course
	Stock Amount // what the household says is left; zero also if it never said
	Short Amount // what is missing for the whole course
}

// Limits of a batch. They keep the arithmetic within 63 bits.
const (
	mostVolumeMl = 1_000_000_000
	mostTimes    = 400
)

// ForShelf is the batch for plants that take each its own volume of spray, in
// millilitres, some times over.
func ForShelf(p *model.Product, eachMl []int, times int) (Batch, error) {
	if times < 1 || times > mostTimes || p.RateMilli < 0 || p.RateMilli > million || p.StockMilli < 0 {
		return Batch{}, ErrMeasure
	}
	volume := int64(0)
	for _, ml := range eachMl {
		if ml < 0 || int64(ml) > mostVolumeMl-volume {
			return Batch{}, ErrMeasure
		}
		volume += int64(ml)
	}
	b := Batch{Once: Of(p, volume), Times: times}
	b.Once.Plants = len(eachMl)
	b.All = b.Once.Times(times).Product
	if b.All.Unit != 0 {
		b.Stock = Amount{int64(p.StockMilli) * 1000, b.All.Unit}
		b.Short = Amount{max(0, b.All.Millionths-b.Stock.Millionths), b.All.Unit}
	}
	return b, nil
}

// Covers is how many times the stock is enough for, at most as often as the course
// needs it.
func (b Batch) Covers() int {
	if b.Once.Product.Millionths <= 0 {
		return b.Times
	}
	return int(min(int64(b.Times), b.Stock.Millionths/b.Once.Product.Millionths))
}
