package scale_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"
	"pgregory.net/rapid"

	"leafturn/photo/exif"
	"leafturn/photo/phototest"
	"leafturn/photo/scale"
)

// channels gives a pixel's luma and chroma.
func channels(c color.Color) [3]float64 {
	y := color.YCbCrModel.Convert(c).(color.YCbCr)
	return [3]float64{float64(y.Y), float64(y.Cb), float64(y.Cr)}
}

// areaMean is the reference: each pixel of a w by h copy is the mean of what it
// covers, pixels on the rim counting by their covered part.
func areaMean(img image.Image, w, h int) [][3]float64 {
	r := img.Bounds()
	across, down := cover(r.Dx(), w), cover(r.Dy(), h)
	rows := make([][3]float64, w*r.Dy())
	for y := range r.Dy() {
		for x := range r.Dx() {
			c := channels(img.At(r.Min.X+x, r.Min.Y+y))
			for _, part := range across[x] {
				for k := range c {
					rows[y*w+part.to][k] += c[k] * part.share
				}
			}
		}
	}
	out := make([][3]float64, w*h)
	for y := range r.Dy() {
		for _, part := range down[y] {
			for x := range w {
				for k := range 3 {
					out[part.to*w+x][k] += rows[y*w+x][k] * part.share
				}
			}
		}
	}
	return out
}

type part struct {
	to    int
	share float64
}

// cover says for each of from samples which of to samples it belongs to, and how
// large a share of each it makes.
func cover(from, to int) [][]part {
	all := make([][]part, from)
	each := float64(from) / float64(to)
	for i := range to {
		start, end := float64(i)*each, float64(i+1)*each
		for s := int(start); s < from && float64(s) < end; s++ {
			all[s] = append(all[s], part{i, (min(end, float64(s+1)) - max(start, float64(s))) / each})
		}
	}
	return all
}

// psnr compares one channel of a picture with the reference, in decibels.
func psnr(img image.Image, want [][3]float64, channel int) float64 {
	r := img.Bounds()
	var sum float64
	for y := range r.Dy() {
		for x := range r.Dx() {
			d := channels(img.At(r.Min.X+x, r.Min.Y+y))[channel] - want[y*r.Dx()+x][channel]
			sum += d * d
		}
	}
	return 10 * math.Log10(255*255*float64(r.Dx()*r.Dy())/max(sum, 1e-9))
}

// stored gives the picture in the form that a decoder would hand out.
func stored(img *image.NRGBA, form string) image.Image {
	r := img.Bounds()
	ratios := map[string]image.YCbCrSubsampleRatio{
		"4:2:0": image.YCbCrSubsampleRatio420, "4:2:2": image.YCbCrSubsampleRatio422, "4:4:0": image.YCbCrSubsampleRatio440,
		"4:4:4": image.YCbCrSubsampleRatio444, "4:1:1": image.YCbCrSubsampleRatio411, "4:1:0": image.YCbCrSubsampleRatio410,
	}
	ratio, planar := ratios[form]
	switch {
	case planar:
		return subsampled(img, ratio)
	case form == "grey":
		m := image.NewGray(r)
		draw.Draw(m, r, img, r.Min, draw.Src)
		return m
	case form == "ink":
		m := image.NewCMYK(r)
		draw.Draw(m, r, img, r.Min, draw.Src)
		return m
	case form == "16 bits":
		m := image.NewNRGBA64(r)
		draw.Draw(m, r, img, r.Min, draw.Src)
		return m
	}
	return img
}

// subsampled takes a picture's chroma as the mean over the pixels of each sample.
func subsampled(img *image.NRGBA, ratio image.YCbCrSubsampleRatio) *image.YCbCr {
	m := image.NewYCbCr(img.Bounds(), ratio)
	sums := make([][3]float64, len(m.Cb))
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			c := channels(img.At(x, y))
			m.Y[m.YOffset(x, y)] = byte(c[0])
			s := &sums[m.COffset(x, y)]
			s[0], s[1], s[2] = s[0]+c[1], s[1]+c[2], s[2]+1
		}
	}
	for i, s := range sums {
		if s[2] > 0 {
			m.Cb[i], m.Cr[i] = byte(s[0]/s[2]+0.5), byte(s[1]/s[2]+0.5)
		}
	}
	return m
}

// TestQuality compares copies with the mean over the area. The lower limits were
// measured once and rounded down; the second limit does not depend on the picture:
// the usual fast scaler must do worse.
func TestQuality(t *testing.T) {
	src := phototest.Picture(600, 451, 7)
	for _, c := range []struct {
		form         string
		luma, chroma float64
	}{
		{"4:2:0", 46, 45}, {"4:2:2", 46, 45}, {"4:4:0", 46, 45}, {"4:4:4", 46, 45}, {"4:1:1", 46, 44}, {"4:1:0", 46, 43},
		{"grey", 46, 0}, {"colours of a PNG", 46, 45}, {"ink", 46, 45}, {"16 bits", 46, 45},
	} {
		for _, long := range []int{200, 241, 400} {
			t.Run(fmt.Sprintf("%s to %d", c.form, long), func(t *testing.T) {
				img := stored(src, c.form)
				got := scale.Fit(img, long, 1)
				size := got.Bounds().Size()
				require.Equal(t, image.Pt(long, int(math.Round(float64(long)*451/600))), size)
				want := areaMean(img, size.X, size.Y)
				luma := psnr(got, want, 0)
				require.Greater(t, luma, c.luma)
				for channel := 1; channel <= 2 && c.chroma > 0; channel++ {
					require.Greater(t, psnr(got, want, channel), c.chroma, "chroma %d", channel)
				}
				fast := image.NewRGBA(got.Bounds())
				draw.ApproxBiLinear.Scale(fast, fast.Rect, img, img.Bounds(), draw.Src, nil)
				require.Greater(t, luma, psnr(fast, want, 0)+1)
			})
		}
	}
}

func TestEncodedQuality(t *testing.T) {
	src := subsampled(phototest.Picture(800, 600, 3), image.YCbCrSubsampleRatio420)
	file, err := scale.JPEG(scale.Fit(src, 320, 1))
	require.NoError(t, err)
	got, err := jpeg.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	require.Greater(t, psnr(got, areaMean(src, 320, 240), 0), 37.0)
}

// stand gives the picture as a camera held in that orientation stores it: the
// inverse of what the EXIF standard asks a viewer to do.
func stand(img image.Image, orientation uint8) *image.NRGBA {
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	sw, sh := w, h
	if orientation >= 5 {
		sw, sh = h, w
	}
	out := image.NewNRGBA(image.Rect(0, 0, sw, sh))
	for y := range h {
		for x := range w {
			sx, sy := x, y
			switch orientation {
			case 2:
				sx = w - 1 - x
			case 3:
				sx, sy = w-1-x, h-1-y
			case 4:
				sy = h - 1 - y
			case 5:
				sx, sy = y, x
			case 6: // shown after a quarter turn clockwise
				sx, sy = y, w-1-x
			case 7:
				sx, sy = h-1-y, w-1-x
			case 8:
				sx, sy = h-1-y, x
			}
			out.Set(sx, sy, img.At(x, y))
		}
	}
	return out
}

// TestUpright: whichever way up it was stored, the copy is the same. Odd sides
// test that chroma does not move by half a sample.
func TestUpright(t *testing.T) {
	for _, size := range []image.Point{{300, 200}, {301, 203}, {97, 331}} {
		src := phototest.Picture(size.X, size.Y, 5)
		for _, long := range []int{75, 160, 1000} {
			want := scale.Fit(src, long, 1)
			r := want.Bounds()
			reference := areaMean(src, r.Dx(), r.Dy())
			for o := uint8(1); o <= 8; o++ {
				t.Run(fmt.Sprintf("%v to %d, orientation %d", size, long, o), func(t *testing.T) {
					got := scale.Fit(stand(src, o), long, o)
					require.Equal(t, r, got.Bounds())
					for channel := range 3 {
						require.Greater(t, psnr(got, reference, channel), 37.0)
						require.InDelta(t, psnr(want, reference, channel), psnr(got, reference, channel), 2)
					}
				})
			}
		}
	}
}

func TestUnknownOrientationIsUpright(t *testing.T) {
	src := phototest.Picture(40, 20, 1)
	for _, o := range []uint8{0, 9, 99} {
		require.Equal(t, scale.Fit(src, 20, 1), scale.Fit(src, 20, o))
	}
}

func TestNeverLarger(t *testing.T) {
	src := phototest.Picture(31, 17, 1)
	require.Equal(t, image.Rect(0, 0, 31, 17), scale.Fit(src, 320, 1).Bounds())
}

// TestSameSizeIsExact: at full size, luma goes through untouched.
func TestSameSizeIsExact(t *testing.T) {
	src := subsampled(phototest.Picture(64, 48, 1), image.YCbCrSubsampleRatio420)
	got := scale.Fit(src, 64, 1).(*image.YCbCr)
	require.Equal(t, src.Y, got.Y)
	require.Equal(t, src.Cb, got.Cb)
	require.Equal(t, src.Cr, got.Cr)
}

func TestTransparentIsWhite(t *testing.T) {
	src := image.NewNRGBA(image.Rect(0, 0, 40, 40))
	for i := range src.Pix {
		src.Pix[i] = 50
		if i%4 == 3 {
			src.Pix[i] = 0
		}
	}
	require.Equal(t, [3]float64{255, 128, 128}, channels(scale.Fit(src, 10, 1).At(5, 5)))
}

// TestOneColourStays: any size, any shape, any form keeps an even colour even,
// and never panics.
func TestOneColourStays(t *testing.T) {
	forms := []string{"4:2:0", "4:2:2", "4:4:0", "4:4:4", "4:1:1", "4:1:0", "grey", "png"}
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 90).Draw(t, "w"), rapid.IntRange(1, 90).Draw(t, "h")
		c := color.NRGBA{rapid.Byte().Draw(t, "r"), rapid.Byte().Draw(t, "g"), rapid.Byte().Draw(t, "b"), 255}
		even := image.NewNRGBA(image.Rect(0, 0, w, h))
		draw.Draw(even, even.Rect, image.NewUniform(c), image.Point{}, draw.Src)
		img := stored(even, rapid.SampledFrom(forms).Draw(t, "form"))
		got := scale.Fit(img, rapid.IntRange(1, 100).Draw(t, "long"), rapid.Uint8Range(0, 9).Draw(t, "orientation"))
		want := channels(img.At(0, 0))
		for y := range got.Bounds().Dy() {
			for x := range got.Bounds().Dx() {
				for k, v := range channels(got.At(x, y)) {
					require.InDelta(t, want[k], v, 1)
				}
			}
		}
	})
}

func TestFullRange(t *testing.T) {
	img := image.NewYCbCr(image.Rect(0, 0, 4, 1), image.YCbCrSubsampleRatio444)
	copy(img.Y, []byte{16, 235, 0, 255})
	copy(img.Cb, []byte{16, 240, 128, 255})
	copy(img.Cr, []byte{128, 128, 128, 128})
	scale.FullRange(img)
	require.Equal(t, []byte{0, 255, 0, 255}, img.Y[:4])
	require.Equal(t, []byte{0, 255, 128, 255}, img.Cb[:4])
	require.Equal(t, []byte{128, 128, 128, 128}, img.Cr[:4])
	other := image.NewGray(image.Rect(0, 0, 1, 1))
	scale.FullRange(other)
	require.Equal(t, []byte{0}, other.Pix)
}

// TestNoMetadata looks for anything in an encoded copy besides pixels and tables.
func TestNoMetadata(t *testing.T) {
	file, err := scale.JPEG(scale.Fit(phototest.Picture(64, 48, 1), 32, 1))
	require.NoError(t, err)
	s, err := exif.Strip(file)
	require.NoError(t, err)
	require.Equal(t, file, s.Kept)
	require.Equal(t, exif.Tags{Orientation: 1}, s.Tags)
}
