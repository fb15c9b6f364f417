// Package scale makes small copies of pictures.
//
// A picture is taken apart into planes: one of brightness (luma) and two of
// colour (chroma), which most photos hold at half the size already. Each plane is
// made smaller on its own. While it is at least twice too large, two by two
// samples become their mean (a box); the rest of the way a Catmull-Rom kernel,
// stretched by the remaining ratio, weighs the neighbours. The result is 4:2:0:
// chroma at half size. Working on planes avoids the detour over RGB, which costs
// twice the time and three times the memory.
//
// The copy is upright: turning happens after scaling, while the picture is small.
// It is never larger than its source.
//
// Means are taken of the stored values, not of light. That is what the reference
// tools do, and what the quality figures compare with.
package scale

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
)

// Quality is the JPEG quality of small copies, on image/jpeg's scale of 1 to 100.
const Quality = 80

// Fit gives an upright copy whose longer side is at most long pixels. The
// orientation is EXIF's, 1 to 8; others count as 1. The result is an
// *image.YCbCr in 4:2:0 or, for pictures without colour, an *image.Gray.
// Transparent parts become white.
func Fit(img image.Image, long int, orientation uint8) image.Image {
	src := apart(img, long)
	t := turnOf(orientation)
	w, h := fitInto(src.w, src.h, long)
	fw, fh := float64(w), float64(h)
	y := src.luma.resize(w, h, fw, fh, t)
	if src.gray {
		return t.gray(y)
	}
	// A chroma sample of the copy covers two by two of its pixels, so an odd width
	// makes half a sample. Counting with halves shifts no colour.
	cw, ch := (w+1)/2, (h+1)/2
	return t.colour(y, src.cb.resize(cw, ch, fw/2, fh/2, t), src.cr.resize(cw, ch, fw/2, fh/2, t))
}

// fitInto is the size of a copy with its longer side at most long.
func fitInto(w, h, long int) (int, int) {
	most := max(w, h)
	if most <= long {
		return w, h
	}
	side := func(n int) int {
		return max(1, int(math.Round(float64(n)*float64(long)/float64(most))))
	}
	return side(w), side(h)
}

// JPEG encodes a copy. It writes no metadata of any kind.
func JPEG(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: Quality}); err != nil {
		return nil, fmt.Errorf("encode copy: %w", err)
	}
	return b.Bytes(), nil
}

// FullRange spreads samples from the range of television (16 to 235, chroma 16
// to 240), which lossy WebP uses, to the range of JPEG, in place. The WebP decoder
// hands the former out in the type that means the latter (golang/go issue 40173).
func FullRange(img image.Image) {
	var m *image.YCbCr
	switch img := img.(type) {
	case *image.YCbCr:
		m = img
	case *image.NYCbCrA:
		m = &img.YCbCr
	default:
		return
	}
	var luma, chroma [256]byte
	for i := range 256 {
		luma[i] = clamp(math.Round(float64(i-16) * 255 / 219))
		chroma[i] = clamp(math.Round(float64(i-128)*255/224) + 128)
	}
	spread := func(pix []byte, to *[256]byte) {
		for i, v := range pix {
			pix[i] = to[v]
		}
	}
	spread(m.Y, &luma)
	spread(m.Cb, &chroma)
	spread(m.Cr, &chroma)
}

func clamp(v float64) byte { return byte(min(max(v, 0), 255)) }
