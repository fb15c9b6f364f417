package align

import (
	"image"

	"leafturn/photo/scale"
)

// working is the longer side pictures are reduced to.
const working = 640

const leastSide = 100 // of a reduced picture

// view is the brightness of a picture.
type view struct {
	w, h int
	pix  []byte
}

func viewOf(img image.Image) view {
	if img == nil || img.Bounds().Empty() {
		return view{}
	}
	var pix []byte
	stride := 0
	fitted := scale.Fit(img, working, 1)
	switch m := fitted.(type) {
	case *image.YCbCr:
		pix, stride = m.Y, m.YStride
	case *image.Gray:
		pix, stride = m.Pix, m.Stride
	}
	v := newView(fitted.Bounds().Dx(), fitted.Bounds().Dy())
	for y := range v.h {
		copy(v.pix[y*v.w:][:v.w], pix[y*stride:])
	}
	return v
}

func newView(w, h int) view { return view{w, h, make([]byte, w*h)} }

func (v view) long() float64 { return float64(max(v.w, v.h)) }

// at interpolates linearly. The place must be inside.
func (v view) at(x, y float64) float64 {
	i, j := int(x), int(y)
	k, l := min(i+1, v.w-1), min(j+1, v.h-1)
	fx, fy := x-float64(i), y-float64(j)
	a, b := v.pix[j*v.w:], v.pix[l*v.w:]
	return (float64(a[i])*(1-fx)+float64(a[k])*fx)*(1-fy) + (float64(b[i])*(1-fx)+float64(b[k])*fx)*fy
}

func (v view) holds(x, y float64) bool {
	return x >= 0 && y >= 0 && x <= float64(v.w-1) && y <= float64(v.h-1)
}

// smaller is the view reduced by a factor a little over 1.
func (v view) smaller(by float64) view {
	out := newView(int(float64(v.w)/by), int(float64(v.h)/by))
	for y := range out.h {
		for x := range out.w {
			u := min((float64(x)+0.5)*by-0.5, float64(v.w-1))
			t := min((float64(y)+0.5)*by-0.5, float64(v.h-1))
			out.pix[y*out.w+x] = byte(v.at(u, t) + 0.5)
		}
	}
	return out
}

// smooth takes means of squares of side 2*reach+1, twice, which is close to a
// Gaussian blur.
func (v view) smooth(reach int) view { return v.box(reach).box(reach) }

func (v view) box(reach int) view {
	across, out := newView(v.w, v.h), newView(v.w, v.h)
	for y := range v.h {
		v.means(across.pix, y*v.w, 1, v.w, reach)
	}
	for x := range v.w {
		across.means(out.pix, x, v.w, v.h, reach)
	}
	return out
}

func (v view) means(out []byte, start, step, n, reach int) {
	sum := 0
	at := func(i int) int { return int(v.pix[start+min(max(i, 0), n-1)*step]) }
	for i := -reach; i < reach; i++ {
		sum += at(i)
	}
	side := 2*reach + 1
	for i := range n {
		sum += at(i + reach)
		out[start+i*step] = byte((sum + side/2) / side)
		sum -= at(i - reach)
	}
}
