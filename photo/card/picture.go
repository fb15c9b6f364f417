package card

import (
	"image"

	"leafturn/photo/scale"
)

// most is the longer side pictures are reduced to. It bounds time and memory.
const most = 2048

// picture is a photo to work on. Chroma has half the size of luma.
type picture struct {
	w, h int
	m    *image.YCbCr
}

func pictureOf(img image.Image) picture {
	if img == nil || img.Bounds().Empty() {
		return picture{}
	}
	return ofFitted(scale.Fit(img, most, 1))
}

// reduced is a smaller copy of the picture.
func (p picture) reduced(long int) picture { return ofFitted(scale.Fit(p.m, long, 1)) }

func ofFitted(fitted image.Image) picture {
	m, ok := fitted.(*image.YCbCr)
	if !ok {
		m = withoutColour(fitted.(*image.Gray))
	}
	return picture{m.Rect.Dx(), m.Rect.Dy(), m}
}

func withoutColour(g *image.Gray) *image.YCbCr {
	m := image.NewYCbCr(g.Rect, image.YCbCrSubsampleRatio420)
	for y := range g.Rect.Dy() {
		copy(m.Y[y*m.YStride:], g.Pix[y*g.Stride:][:g.Rect.Dx()])
	}
	for i := range m.Cb {
		m.Cb[i], m.Cr[i] = 128, 128
	}
	return m
}

func (p picture) long() float64 { return float64(max(p.w, p.h)) }

// luma is the brightness between pixels. Pixel centres have whole coordinates.
func (p picture) luma(x, y float64) float64 {
	return between(p.m.Y, p.m.YStride, p.w, p.h, x, y)
}

// chroma is the colour between pixels, around 0.
func (p picture) chroma(x, y float64) (cb, cr float64) {
	w, h := (p.w+1)/2, (p.h+1)/2
	x, y = (x+0.5)/2-0.5, (y+0.5)/2-0.5
	return between(p.m.Cb, p.m.CStride, w, h, x, y) - 128, between(p.m.Cr, p.m.CStride, w, h, x, y) - 128
}

// between interpolates linearly; beyond the rim the rim goes on.
func between(pix []byte, stride, w, h int, x, y float64) float64 {
	x, y = min(max(x, 0), float64(w-1)), min(max(y, 0), float64(h-1))
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	a, b := pix[j*stride:], pix[min(j+1, h-1)*stride:]
	k := min(i+1, w-1)
	upper := float64(a[i])*(1-fx) + float64(a[k])*fx
	lower := float64(b[i])*(1-fx) + float64(b[k])*fx
	return upper*(1-fy) + lower*fy
}
