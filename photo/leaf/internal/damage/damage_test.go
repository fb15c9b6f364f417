package damage_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/leaf/internal/damage"
	"leafturn/photo/leaf/internal/raster"
)

// side of the pictures drawn here.
const side = 60

// green is a leaf of one colour that fills the picture.
func green() raster.Lab {
	lab := raster.Lab{W: side, H: side, L: make([]float32, side*side), A: make([]float32, side*side), B: make([]float32, side*side)}
	draw(lab, 0, 0, side, 40, -20, 35)
	return lab
}

// draw fills a square with a colour.
func draw(lab raster.Lab, x0, y0, size int, l, a, b float32) {
	for y := y0; y < y0+size; y++ {
		for x := x0; x < x0+size; x++ {
			i := y*side + x
			lab.L[i], lab.A[i], lab.B[i] = l, a, b
		}
	}
}

var everything = raster.NewMask(side, side).Not()

func TestDiscolourationIsDegreesOfHueFromTheLeaf(t *testing.T) {
	for _, c := range []struct {
		name string
		a, b float32
		rule damage.Rule
		want float64
	}{
		{"the leaf itself", -20, 35, damage.Rule{Blur: 1}, 0},
		{"yellow", 0, 35, damage.Rule{Blur: 1}, 29.7},     // atan(20/35)
		{"brown", 20, 35, damage.Rule{Blur: 1}, 59.5},     // twice that
		{"greener", -35, 35, damage.Rule{Blur: 1}, -15.3}, // 45° less atan(20/35)
		{"yellower counts", 0, 45, damage.Rule{Blur: 1, Yellow: 0.5}, 34.7},
	} {
		t.Run(c.name, func(t *testing.T) {
			lab := green()
			draw(lab, 20, 20, 20, 40, c.a, c.b)
			got := c.rule.Discolouration(lab, everything)
			require.InDelta(t, c.want, got[30*side+30], 0.3)
			require.InDelta(t, 0, got[0], 0.3)
		})
	}
}

func TestALesionIsACoreAndTheHaloAroundIt(t *testing.T) {
	v := make([]float32, side*side)
	set := func(x0, y0, size int, value float32) {
		for i := range v {
			if x, y := i%side, i/side; x >= x0 && y >= y0 && x < x0+size && y < y0+size {
				v[i] = value
			}
		}
	}
	set(10, 10, 16, 25) // a halo
	set(14, 14, 8, 50)  // with a core
	set(40, 10, 10, 25) // the same discolouration without a core is none
	set(40, 40, 3, 50)  // too small
	rule := damage.Rule{Limit: 40, Halo: 0.5, Open: 1, Least: 20}
	found := rule.Find(v, everything, 1)
	require.InDelta(t, 256, found.Area(), 12, "the corners may be rounded")
	require.True(t, found.In[11*side+18])
	require.False(t, found.In[15*side+45])

	strict := rule.Find(v, everything, 1.2)
	require.True(t, strict.In[18*side+18])
	require.Zero(t, rule.Find(v, everything, 1.3).Area(), "the core passes no longer")
}

func TestPaleMarksByTheirSize(t *testing.T) {
	lab := green()
	draw(lab, 10, 10, 3, 62, -8, 14)
	draw(lab, 30, 30, 16, 62, -8, 14)
	for x := range 24 { // a vein
		draw(lab, 20+x, 55, 1, 62, -8, 14)
	}
	light := damage.LightOf(lab)
	specks, patches := light.Specks(everything), light.Patches(everything)
	require.True(t, specks.In[11*side+11])
	require.False(t, specks.In[38*side+38])
	require.False(t, specks.In[55*side+30], "a line is a vein")
	require.True(t, patches.In[38*side+38])
	require.False(t, patches.In[11*side+11])
}
