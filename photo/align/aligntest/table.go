package aligntest

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
)

// OnTable lays the leaf of a picture, where the mask is true, on a table with a
// strong pattern. Two leaves on the same table are the pair that is most easily
// aligned wrongly.
func OnTable(img image.Image, leaf func(x, y int) bool, table uint64) image.Image {
	b := img.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	r := rand.New(rand.NewPCG(table, 7))
	const cell = 12
	across := b.Dx()/cell + 1
	tiles := make([]float64, across*(b.Dy()/cell+1))
	for i := range tiles {
		tiles[i] = 60 + 140*r.Float64()
	}
	for y := range b.Dy() {
		for x := range b.Dx() {
			if leaf(x, y) {
				out.Set(x, y, img.At(b.Min.X+x, b.Min.Y+y))
				continue
			}
			wave := 20 * math.Sin(float64(x)/9) * math.Cos(float64(y)/7)
			v := byte(min(max(tiles[y/cell*across+x/cell]+wave, 0), 255))
			out.SetRGBA(x, y, color.RGBA{v, byte(float64(v) * 0.85), byte(float64(v) * 0.7), 255})
		}
	}
	return out
}
