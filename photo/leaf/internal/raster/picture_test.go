package raster_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/leaf/internal/raster"
)

// Values of the corners of sRGB under D65, as colour tables print them.
func TestLabOfKnownColours(t *testing.T) {
	for _, c := range []struct {
		name    string
		rgb     [3]float32
		l, a, b float64
	}{
		{"black", [3]float32{0, 0, 0}, 0, 0, 0},
		{"white", [3]float32{255, 255, 255}, 100, 0, 0},
		{"red", [3]float32{255, 0, 0}, 53.24, 80.09, 67.20},
		{"green", [3]float32{0, 255, 0}, 87.73, -86.18, 83.18},
		{"blue", [3]float32{0, 0, 255}, 32.30, 79.19, -107.86},
		{"grey", [3]float32{119, 119, 119}, 50.03, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			lab := raster.ToLab(raster.RGB{W: 1, H: 1, Pix: c.rgb[:]})
			require.InDelta(t, c.l, lab.L[0], 0.1)
			require.InDelta(t, c.a, lab.A[0], 0.1)
			require.InDelta(t, c.b, lab.B[0], 0.1)
		})
	}
}

func TestReduceKeepsTheMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.IntRange(1, 4).Draw(t, "times")
		w, h := rapid.IntRange(1, 9).Draw(t, "width"), rapid.IntRange(1, 9).Draw(t, "height")
		img := image.NewRGBA(image.Rect(3, 5, 3+w*times, 5+h*times))
		sum := 0.0
		for i := range img.Pix {
			img.Pix[i] = 255
			if i%4 == 1 {
				img.Pix[i] = rapid.Uint8().Draw(t, "green")
				sum += float64(img.Pix[i])
			}
		}
		p := raster.Reduce(img, max(w, h))
		require.Equal(t, []int{w, h}, []int{p.W, p.H})
		got := 0.0
		for i := range p.W * p.H {
			got += float64(p.Pix[3*i+1])
		}
		require.InDelta(t, sum/float64(w*h*times*times), got/float64(w*h), 0.01)
	})
}

func TestFitNeverEnlargesNorEndsInNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 50_000).Draw(t, "width"), rapid.IntRange(1, 50_000).Draw(t, "height")
		gw, gh := raster.Fit(w, h, 640)
		require.True(t, gw >= 1 && gh >= 1 && gw <= w && gh <= h && max(gw, gh) <= 640)
	})
}

func TestTransparentIsWhite(t *testing.T) {
	for _, img := range []image.Image{image.NewRGBA(image.Rect(0, 0, 4, 4)), image.NewNRGBA(image.Rect(0, 0, 4, 4))} {
		require.EqualValues(t, 255, raster.Reduce(img, 2).Pix[0])
		require.EqualValues(t, 255, raster.Crop(img, image.Rect(0, 0, 2, 2), 2).V[0])
	}
}

func TestBlurKeepsSumAndSpreads(t *testing.T) {
	const w, h, sigma = 41, 31, 2.5
	v := make([]float32, w*h)
	v[15*w+20] = 1
	raster.Blur(v, w, sigma)
	var sum, spread float64
	for i, x := range v {
		dx, dy := float64(i%w-20), float64(i/w-15)
		sum += float64(x)
		spread += float64(x) * (dx*dx + dy*dy) / 2
	}
	require.InDelta(t, 1, sum, 1e-4)
	require.InDelta(t, sigma, math.Sqrt(spread), 0.06)
}

func TestMedianCountsRight(t *testing.T) {
	m := raster.NewMask(5, 1).Not()
	require.InDelta(t, 7.5, raster.Median([]float32{90, 7.5, -40, 3, 1000}, m), 0.04)
	m.In[4] = false
	m.In[0] = false
	require.InDelta(t, 3, raster.Median([]float32{90, 7.5, -40, 3, 1000}, m), 0.04)
	require.Zero(t, raster.Median([]float32{1}, raster.NewMask(1, 1)))
}

// White noise of a known deviation: the estimate finds it, and the energy it adds
// is the one foretold.
func TestNoiseIsEstimatedAndForetold(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	g := raster.Gray{W: 200, H: 200, V: make([]float32, 40_000)}
	for i := range g.V {
		g.V[i] = float32(100 + 5*r.NormFloat64() + float64(i%200)) // and an even slope
	}
	require.InDelta(t, 5, g.Noise(), 0.2)
	for _, sigma := range []float64{0.6, 1.2, 3} {
		energy, perNoise := g.Energy(sigma)
		require.InDelta(t, 1+25*perNoise, energy, 0.05*energy, "sigma %v", sigma)
	}
}

func TestBrightnessOfEveryType(t *testing.T) {
	rgba := image.NewRGBA(image.Rect(0, 0, 2, 2))
	ycc := image.NewYCbCr(image.Rect(0, 0, 2, 2), image.YCbCrSubsampleRatio420)
	for i := range 4 {
		rgba.Set(i%2, i/2, color.RGBA{R: 90, G: 90, B: 90, A: 255})
		ycc.Y[i] = 90
	}
	for _, img := range []image.Image{rgba, ycc, struct{ image.Image }{rgba}} {
		require.InDelta(t, 90, raster.Crop(img, image.Rect(0, 0, 1, 1), 2).V[0], 1)
	}
}
