package scale

import (
	"image"
	"image/color"
	"math"
)

// plane is one channel, row by row. The picture's width and height, counted in
// its samples, may end inside the last one: a picture 5 pixels wide has 2.5
// samples of chroma, held in 3.
type plane struct {
	pix           []byte
	stride, w, h  int
	width, height float64
}

func newPlane(pix []byte, stride int, width, height float64) plane {
	return plane{pix, stride, int(math.Ceil(width)), int(math.Ceil(height)), width, height}
}

// planes is a picture taken apart.
type planes struct {
	w, h         int // pixels
	luma, cb, cr plane
	gray         bool
}

// apart gives the planes of a picture. Pictures that are stored in planes are not
// copied. Others are reduced on the way, to less than twice long.
func apart(img image.Image, long int) planes {
	r := img.Bounds()
	switch m := img.(type) {
	case *image.Gray:
		y := newPlane(m.Pix[m.PixOffset(r.Min.X, r.Min.Y):], m.Stride, float64(r.Dx()), float64(r.Dy()))
		return planes{w: r.Dx(), h: r.Dy(), luma: y, gray: true}
	case *image.YCbCr:
		return ofYCbCr(m, r)
	case image.RGBA64Image:
		return reduced(m.RGBA64At, r, long)
	}
	return reduced(func(x, y int) color.RGBA64 {
		return color.RGBA64Model.Convert(img.At(x, y)).(color.RGBA64)
	}, r, long)
}

func ofYCbCr(m *image.YCbCr, r image.Rectangle) planes {
	cx, cy := ratio(m.SubsampleRatio)
	y, c := m.YOffset(r.Min.X, r.Min.Y), m.COffset(r.Min.X, r.Min.Y)
	w, h := float64(r.Dx()), float64(r.Dy())
	return planes{
		w: r.Dx(), h: r.Dy(),
		luma: newPlane(m.Y[y:], m.YStride, w, h),
		cb:   newPlane(m.Cb[c:], m.CStride, w/cx, h/cy),
		cr:   newPlane(m.Cr[c:], m.CStride, w/cx, h/cy),
	}
}

// ratio is how many pixels a chroma sample covers across and down.
func ratio(s image.YCbCrSubsampleRatio) (x, y float64) {
	switch s {
	case image.YCbCrSubsampleRatio422:
		return 2, 1
	case image.YCbCrSubsampleRatio420:
		return 2, 2
	case image.YCbCrSubsampleRatio440:
		return 1, 2
	case image.YCbCrSubsampleRatio411:
		return 4, 1
	case image.YCbCrSubsampleRatio410:
		return 4, 2
	}
	return 1, 1
}

// reduced makes planes of any picture, each sample the mean of a square of
// pixels. The square's side is the largest that leaves the longer side at least
// long. Squares at the right and lower rim may be cut.
func reduced(at func(x, y int) color.RGBA64, r image.Rectangle, long int) planes {
	side := max(1, max(r.Dx(), r.Dy())/long)
	w, h := (r.Dx()+side-1)/side, (r.Dy()+side-1)/side
	make1 := func() plane {
		return newPlane(make([]byte, w*h), w, float64(r.Dx())/float64(side), float64(r.Dy())/float64(side))
	}
	p := planes{w: r.Dx(), h: r.Dy(), luma: make1(), cb: make1(), cr: make1()}
	for y := range h {
		for x := range w {
			square := image.Rect(x*side, y*side, (x+1)*side, (y+1)*side).Add(r.Min).Intersect(r)
			i := y*w + x
			p.luma.pix[i], p.cb.pix[i], p.cr.pix[i] = meanOnWhite(at, square)
		}
	}
	return p
}

// meanOnWhite is the mean colour of a square laid on white.
func meanOnWhite(at func(x, y int) color.RGBA64, square image.Rectangle) (y, cb, cr byte) {
	var r, g, b, a uint64
	for y := square.Min.Y; y < square.Max.Y; y++ {
		for x := square.Min.X; x < square.Max.X; x++ {
			c := at(x, y)
			r, g, b, a = r+uint64(c.R), g+uint64(c.G), b+uint64(c.B), a+uint64(c.A)
		}
	}
	n := uint64(square.Dx() * square.Dy())
	clear := 0xffff*n - a // what the picture leaves to the white below
	to8 := func(sum uint64) byte { return byte(min((sum+clear+n*128)/(n*257), 255)) }
	return color.RGBToYCbCr(to8(r), to8(g), to8(b))
}
