package ground_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/leaf/internal/ground"
	"leafturn/photo/leaf/internal/raster"
)

// lit is a disc of a colour on a ground whose light falls off to one corner.
func lit(w, h int, disc [3]float32, x0, y0, radius float64) raster.RGB {
	p := raster.RGB{W: w, H: h, Pix: make([]float32, 3*w*h)}
	for i := range w * h {
		x, y := float64(i%w), float64(i/w)
		light := 1 - 0.3*x/float64(w) - 0.2*y/float64(h)
		colour := [3]float32{225, 220, 205}
		if math.Hypot(x-x0, y-y0) < radius {
			colour = disc
		}
		for c, v := range colour {
			p.Pix[3*i+c] = v * float32(light)
		}
	}
	return p
}

func TestFlatteningTakesTheLampAway(t *testing.T) {
	p := lit(200, 150, [3]float32{60, 130, 50}, 100, 75, 40)
	s := ground.Fit(p)
	require.True(t, s.Plain())
	s.Flatten(p)
	for _, at := range []int{0, 199, 149*200 + 10, 149*200 + 199, 20*200 + 100} {
		for c := range 3 {
			require.InDelta(t, 230, p.Pix[3*at+c], 3)
		}
	}
}

func TestAStalkThatLeavesThePictureDoesNotBendTheGround(t *testing.T) {
	p := lit(200, 150, [3]float32{60, 130, 50}, 0, 75, 12)
	s := ground.Fit(p)
	require.True(t, s.Plain())
	s.Flatten(p)
	require.InDelta(t, 230, p.Pix[3*(20*200+100)], 4)
}

func TestFindsTheDisc(t *testing.T) {
	p := lit(200, 150, [3]float32{60, 130, 50}, 100, 75, 40)
	ground.Fit(p).Flatten(p)
	leaf, second := ground.Largest(ground.Leaf(raster.ToLab(p)))
	require.InDelta(t, math.Pi*40*40, leaf.Area(), 0.03*math.Pi*1600)
	require.Zero(t, second)
}

func TestWhatIsNoPlainGround(t *testing.T) {
	for name, at := range map[string]func(x, y int) [3]float32{
		"dark":     func(x, y int) [3]float32 { return [3]float32{40, 40, 40} },
		"coloured": func(x, y int) [3]float32 { return [3]float32{60, 140, 60} },
		"chequered": func(x, y int) [3]float32 {
			v := float32(120 + 100*((x/10+y/10)%2))
			return [3]float32{v, v, v}
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := raster.RGB{W: 200, H: 150, Pix: make([]float32, 3*200*150)}
			for i := range 200 * 150 {
				c := at(i%200, i/200)
				copy(p.Pix[3*i:], c[:])
			}
			require.False(t, ground.Fit(p).Plain())
		})
	}
}

func TestAnyPictureHasASurface(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 30).Draw(t, "width"), rapid.IntRange(1, 30).Draw(t, "height")
		p := raster.RGB{W: w, H: h, Pix: rapid.SliceOfN(rapid.Float32Range(0, 255), 3*w*h, 3*w*h).Draw(t, "pixels")}
		ground.Fit(p).Flatten(p)
		for _, v := range p.Pix {
			require.False(t, math.IsNaN(float64(v)) || math.IsInf(float64(v), 0))
		}
	})
}
