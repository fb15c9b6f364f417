package leaf

import (
	"cmp"
	"image"
	"math"
	"slices"

	"leafturn/photo/leaf/internal/raster"
)

// Quality says whether a photograph is worth measuring. It is made to be shown at
// once, as advice; it never stands in the way of keeping a photo.
type Quality struct {
	// Sharpness compares fine detail with coarse: see Check. Sharp pictures have
	// two and more.
	Sharpness float64
	// Dark and Bright are the brightness, 0 to 255, that a twentieth of the
	// picture exceeds and falls short of.
	Dark, Bright float64
	Reason       Reason // OK, Blurred, TooDark, TooBright or TooSmall
}

// The limits of Check. Sharpness was set on the fit half of the leaf photographs,
// blurred on purpose; light is common sense about 8-bit pictures.
const (
	sharpEnough = 1.42
	darkBelow   = 60  // when hardly anything is brighter
	brightAbove = 215 // when hardly anything is darker
	leastSide   = 160 // pixels; less cannot be judged
	mostPixels  = 1 << 26
)

// Check looks at a grid of tiles, at about a thousand pixels on the longer side.
// Sharpness is the energy of the slopes after smoothing by 0.0009 of the longer
// side over that after 0.0023, among the quarter of the tiles with most detail, so
// that a sharp leaf on a plain ground is sharp. What noise adds to the energies is
// estimated on the calmest tiles and taken off: grain must not pass for detail.
func Check(img image.Image) Quality {
	r := img.Bounds()
	if tooLarge(r) {
		return Quality{Reason: TooLarge}
	}
	long := max(r.Dx(), r.Dy())
	if min(r.Dx(), r.Dy()) < leastSide {
		return Quality{Reason: TooSmall}
	}
	side := max(1, int(math.Round(float64(long)/1024)))
	tiles := tilesOf(img, side)
	q := Quality{Sharpness: sharpness(tiles, float64(long/side)/1280)}
	q.Dark, q.Bright = light(tiles)
	switch {
	case q.Bright < darkBelow:
		q.Reason = TooDark
	case q.Dark > brightAbove:
		q.Reason = TooBright
	case q.Sharpness < sharpEnough:
		q.Reason = Blurred
	}
	return q
}

func tooLarge(r image.Rectangle) bool {
	return int64(r.Dx())*int64(r.Dy()) > mostPixels || max(r.Dx(), r.Dy()) > 1<<20
}

// tilesOf cuts tiles out of the picture, spread evenly, each pixel the mean of a
// square of the given side.
func tilesOf(img image.Image, side int) []raster.Gray {
	const across, wide = 8, 84
	w, h := img.Bounds().Dx()/side, img.Bounds().Dy()/side
	nx, ny := min(across, max(1, w/wide)), min(across, max(1, h/wide))
	tw, th := min(wide, w), min(wide, h)
	tiles := make([]raster.Gray, 0, nx*ny)
	for j := range ny {
		for i := range nx {
			x, y := spread(i, nx, w-tw), spread(j, ny, h-th)
			tiles = append(tiles, raster.Crop(img, image.Rect(x, y, x+tw, y+th), side))
		}
	}
	return tiles
}

// spread is the place of the i-th of n on a stretch of the given length.
func spread(i, n, length int) int {
	if n == 1 {
		return length / 2
	}
	return i * length / (n - 1)
}

func sharpness(tiles []raster.Gray, scale float64) float64 {
	type energies struct{ fine, coarse, noise, perFine, perCoarse float64 }
	all := make([]energies, len(tiles))
	for i, t := range tiles {
		e := &all[i]
		e.fine, e.perFine = t.Energy(1.2 * scale)
		e.coarse, e.perCoarse = t.Energy(3 * scale)
		e.noise = t.Noise()
	}
	slices.SortFunc(all, func(a, b energies) int { return cmp.Compare(a.noise, b.noise) })
	noise := all[len(all)/5].noise
	slices.SortFunc(all, func(a, b energies) int { return cmp.Compare(b.coarse, a.coarse) })
	var fine, coarse float64
	for _, e := range all[:(len(all)+3)/4] {
		fine += max(0, e.fine-e.perFine*noise*noise)
		coarse += max(0, e.coarse-e.perCoarse*noise*noise)
	}
	const flat = 0.02 // less than this a tile is nothing that could be sharp
	return fine / (coarse + flat)
}

// light gives the brightness that a twentieth of the pixels fall short of and that
// a twentieth exceed.
func light(tiles []raster.Gray) (dark, bright float64) {
	var count [256]int
	n := 0
	for _, t := range tiles {
		for _, v := range t.V {
			count[min(max(int(v), 0), 255)]++
			n++
		}
	}
	seen, low, high := 0, 0, 0
	for v, c := range count {
		seen += c
		if seen <= n/20 {
			low = v + 1
		}
		if seen <= n-n/20 {
			high = v
		}
	}
	return float64(min(low, 255)), float64(high)
}
