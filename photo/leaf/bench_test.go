package leaf_test

import (
	"image"
	"testing"

	"leafturn/photo/leaf"
)

func BenchmarkMeasure(b *testing.B) {
	for _, name := range []string{"coffee-1010", "soybean-7"} {
		b.Run(name, func(b *testing.B) {
			e := load(b, name)[0]
			b.ReportAllocs()
			for b.Loop() {
				leaf.Measure(e.img, leaf.Options{Kind: e.kind})
			}
		})
	}
}

func BenchmarkCheck(b *testing.B) {
	img := decode(b, "../../testdata/photos/leaf-underside-1.jpg")
	large := enlarged(canvas(img))
	b.Run("2048 pixels", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			leaf.Check(large)
		}
	})
}

// enlarged is the picture with each pixel as two by two.
func enlarged(img *image.RGBA) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, 2*img.Rect.Dx(), 2*img.Rect.Dy()))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.SetRGBA(x, y, img.RGBAAt(x/2, y/2))
		}
	}
	return out
}
