package leaf_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/leaf"
)

// drawn makes a picture of a colour at each place.
func drawn(w, h int, at func(x, y int) color.RGBA) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, at(x, y))
		}
	}
	return img
}

// onWhite is discs of a colour, with a grain, on a light ground.
func onWhite(c color.RGBA, centres ...image.Point) *image.RGBA {
	r := rand.New(rand.NewPCG(3, 3))
	return drawn(600, 450, func(x, y int) color.RGBA {
		grain := uint8(r.IntN(8))
		for _, p := range centres {
			if math.Hypot(float64(x-p.X), float64(y-p.Y)) < 100 {
				return color.RGBA{R: c.R + grain, G: c.G + grain, B: c.B + grain, A: 255}
			}
		}
		return color.RGBA{R: 225 + grain, G: 225 + grain, B: 225 + grain, A: 255}
	})
}

func scaledLight(img image.Image, by, plus float64) *image.RGBA {
	out := canvas(img)
	for i := range out.Pix {
		if i%4 != 3 {
			out.Pix[i] = uint8(min(float64(out.Pix[i])*by+plus, 255))
		}
	}
	return out
}

func TestSaysThatItCannotTell(t *testing.T) {
	e := load(t, "coffee-1010")[0]
	noise := rand.New(rand.NewPCG(5, 5))
	for name, c := range map[string]struct {
		img  image.Image
		want []leaf.Reason // any of them
	}{
		"nothing":           {image.NewRGBA(image.Rectangle{}), []leaf.Reason{leaf.TooSmall}},
		"one pixel":         {image.NewRGBA(image.Rect(0, 0, 1, 1)), []leaf.Reason{leaf.TooSmall}},
		"a strip":           {image.NewRGBA(image.Rect(0, 0, 4000, 10)), []leaf.Reason{leaf.TooSmall}},
		"without end":       {image.NewUniform(color.White), []leaf.Reason{leaf.TooLarge}},
		"black":             {drawn(400, 300, func(x, y int) color.RGBA { return color.RGBA{A: 255} }), []leaf.Reason{leaf.TooDark}},
		"white":             {drawn(400, 300, func(x, y int) color.RGBA { return color.RGBA{255, 255, 255, 255} }), []leaf.Reason{leaf.TooBright}},
		"nothing but grey":  {drawn(400, 300, func(x, y int) color.RGBA { return color.RGBA{128, 128, 128, 255} }), []leaf.Reason{leaf.Blurred}},
		"nothing but green": {drawn(400, 300, func(x, y int) color.RGBA { return color.RGBA{60, 140, 50, 255} }), []leaf.Reason{leaf.Blurred}},
		"a sky":             {drawn(400, 300, func(x, y int) color.RGBA { return color.RGBA{120, uint8(160 + y/8), 240, 255} }), []leaf.Reason{leaf.Blurred, leaf.NotPlain, leaf.NoLeaf}},
		"coloured noise": {drawn(640, 480, func(x, y int) color.RGBA {
			v := noise.Uint32()
			return color.RGBA{byte(v), byte(v >> 8), byte(v >> 16), 255}
		}), []leaf.Reason{leaf.Blurred, leaf.NotPlain, leaf.NoLeaf}},
		"squares": {drawn(640, 480, func(x, y int) color.RGBA { v := uint8(60 + 140*((x/40+y/40)%2)); return color.RGBA{v, v, v, 255} }), []leaf.Reason{leaf.NoLeaf, leaf.NotPlain}},
		"lines of print": {drawn(640, 480, func(x, y int) color.RGBA {
			v := uint8(235)
			if y%24 < 10 && x%13 < 7 && x > 50 && x < 590 {
				v = 30
			}
			return color.RGBA{v, v, v, 255}
		}), []leaf.Reason{leaf.NoLeaf, leaf.SeveralLeaves}},
		"a red disc":           {onWhite(color.RGBA{R: 190, G: 40, B: 40}, image.Pt(300, 225)), []leaf.Reason{leaf.NoLeaf}},
		"skin":                 {onWhite(color.RGBA{R: 205, G: 150, B: 120}, image.Pt(300, 225)), []leaf.Reason{leaf.NoLeaf}},
		"a blue disc":          {onWhite(color.RGBA{R: 40, G: 70, B: 180}, image.Pt(300, 225)), []leaf.Reason{leaf.NoLeaf}},
		"two leaves":           {onWhite(color.RGBA{R: 60, G: 130, B: 50}, image.Pt(150, 225), image.Pt(450, 225)), []leaf.Reason{leaf.SeveralLeaves}},
		"half a leaf":          {canvas(e.img).SubImage(image.Rect(0, 0, 320, 320)), []leaf.Reason{leaf.LeafCutOff, leaf.NotPlain}},
		"a blurred leaf":       {spoil(e.img, 2.5, 0), []leaf.Reason{leaf.Blurred}},
		"blurred, with grain":  {spoil(e.img, 2.5, 6), []leaf.Reason{leaf.Blurred}},
		"a leaf in the dark":   {scaledLight(e.img, 0.2, 0), []leaf.Reason{leaf.TooDark}},
		"a leaf in the glare":  {scaledLight(e.img, 0.5, 215), []leaf.Reason{leaf.TooBright}},
		"a leaf turned purple": {purple(e.img), []leaf.Reason{leaf.NoLeaf}},
	} {
		t.Run(name, func(t *testing.T) {
			m := leaf.Measure(c.img, leaf.Options{})
			require.Equal(t, leaf.CannotTell, m.Verdict)
			require.Contains(t, c.want, m.Reason, m.Reason.String())
			require.Zero(t, m.Damaged)
			require.Zero(t, m.Confidence)
			require.Empty(t, m.Outline)
		})
	}
}

// purple swaps green and blue.
func purple(img image.Image) *image.RGBA {
	out := canvas(img)
	for i := 0; i < len(out.Pix); i += 4 {
		out.Pix[i+1], out.Pix[i+2] = out.Pix[i+2], out.Pix[i+1]
	}
	return out
}

func TestReasonsHaveWordsOfTheirOwn(t *testing.T) {
	seen := map[string]bool{}
	for r := leaf.OK; r <= leaf.BadOutline; r++ {
		require.NotEqual(t, "unknown", r.String())
		require.False(t, seen[r.String()], r.String())
		seen[r.String()] = true
	}
	require.Equal(t, "unknown", leaf.Reason(200).String())
}

// sound requires what holds of every measurement.
func sound(t require.TestingT, m leaf.Measurement) {
	for _, v := range []float64{m.Leaf, m.Damaged, m.Pale, m.Silver, m.Uncertain, m.Confidence} {
		require.True(t, v >= 0 && v <= 1, "%+v", m)
	}
	require.False(t, math.IsNaN(m.Quality.Sharpness) || math.IsInf(m.Quality.Sharpness, 0))
	require.LessOrEqual(t, m.Damaged+m.Pale+m.Silver, 1+1e-9)
	require.Equal(t, leaf.Version, m.Version)
	require.Equal(t, m.Verdict == leaf.Measured, m.Reason == leaf.OK)
	for _, p := range m.Outline {
		require.True(t, p.X >= 0 && p.X <= 1 && p.Y >= 0 && p.Y <= 1)
	}
}

// anyImage is blotches of any colours on any ground, of any size.
func anyImage(t *rapid.T) *image.RGBA {
	side := rapid.IntRange(0, 260)
	channel := rapid.Uint8()
	colour := rapid.Custom(func(t *rapid.T) color.RGBA {
		return color.RGBA{R: channel.Draw(t, "red"), G: channel.Draw(t, "green"), B: channel.Draw(t, "blue"), A: 255}
	})
	ground := colour.Draw(t, "ground")
	img := drawn(side.Draw(t, "width"), side.Draw(t, "height"), func(x, y int) color.RGBA { return ground })
	for range rapid.IntRange(0, 6).Draw(t, "blotches") {
		paint(img, rapid.Float64Range(0, 260).Draw(t, "x"), rapid.Float64Range(0, 260).Draw(t, "y"), rapid.Float64Range(0, 150).Draw(t, "radius"),
			colour.Draw(t, "colour"), rapid.Float64Range(0, 1).Draw(t, "strength"))
	}
	return img
}

func TestAnyPictureGivesASoundAnswer(t *testing.T) {
	point := rapid.Custom(func(t *rapid.T) leaf.Point {
		return leaf.Point{X: rapid.Float64Range(-0.5, 1.5).Draw(t, "x"), Y: rapid.Float64Range(-0.5, 1.5).Draw(t, "y")}
	})
	rapid.Check(t, func(t *rapid.T) {
		img := anyImage(t)
		o := leaf.Options{Kind: rapid.SampledFrom([]leaf.Kind{leaf.Auto, leaf.WholeLeaf, leaf.CloseUp}).Draw(t, "kind")}
		if rapid.Bool().Draw(t, "outlined") {
			o.Outline = rapid.SliceOfN(point, 0, 9).Draw(t, "outline")
		}
		m := leaf.Measure(img, o)
		sound(t, m)
		require.Equal(t, m, leaf.Measure(img, o), "twice the same")
	})
}

func FuzzMeasure(f *testing.F) {
	f.Add([]byte("a few bytes are a small picture"), uint16(200), uint8(0))
	f.Add([]byte{40, 120, 50, 200, 210, 220}, uint16(180), uint8(2))
	f.Fuzz(func(t *testing.T, pix []byte, width uint16, kind uint8) {
		if len(pix) == 0 || width > 300 || kind > uint8(leaf.CloseUp) {
			t.Skip()
		}
		at := func(i int) byte { return pix[i%len(pix)] }
		img := drawn(int(width), 170, func(x, y int) color.RGBA {
			i := 3 * (x/7 + y/7*int(width))
			return color.RGBA{R: at(i), G: at(i + 1), B: at(i + 2), A: 255}
		})
		sound(t, leaf.Measure(img, leaf.Options{Kind: leaf.Kind(kind)}))
	})
}
