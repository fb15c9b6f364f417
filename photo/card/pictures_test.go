package card_test

import (
	"image"
	"image/color"

	"leafturn/photo/scale"
)

func reduced(img image.Image, long int) image.Image { return scale.Fit(img, long, 1) }

// smeared is what a shaking hand makes: means of squares, twice.
func smeared(img image.Image, reach int) image.Image {
	return means(means(img, reach), reach)
}

func means(img image.Image, reach int) image.Image {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	sums := make([][3]int, (w+1)*(h+1)) // of all pixels above and to the left
	for y := range h {
		var row [3]int
		for x := range w {
			r, g, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
			row[0], row[1], row[2] = row[0]+int(r>>8), row[1]+int(g>>8), row[2]+int(bl>>8)
			for i := range row {
				sums[(y+1)*(w+1)+x+1][i] = sums[y*(w+1)+x+1][i] + row[i]
			}
		}
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			x0, x1, y0, y1 := max(x-reach, 0), min(x+reach+1, w), max(y-reach, 0), min(y+reach+1, h)
			n := (x1 - x0) * (y1 - y0)
			var v [3]byte
			for i := range v {
				v[i] = byte((sums[y1*(w+1)+x1][i] - sums[y0*(w+1)+x1][i] - sums[y1*(w+1)+x0][i] + sums[y0*(w+1)+x0][i]) / n)
			}
			out.SetRGBA(x, y, color.RGBA{v[0], v[1], v[2], 255})
		}
	}
	return out
}
