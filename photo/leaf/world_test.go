package leaf_test

import (
	"image"
	"image/color"
	_ "image/jpeg"
	_ "image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/leaf"
	"leafturn/photo/leaf/internal/raster"
)

const folder = "../../testdata/leaf"

// marked is a photograph with what experts marked on it, in percentage points.
type marked struct {
	name    string
	kind    leaf.Kind
	img     image.Image
	mask    image.Image
	damaged float64
}

// load reads the photographs whose names begin with a prefix. Under the race
// detector, which makes pixels many times slower and has nothing to find in one
// goroutine, the first two are enough.
func load(t testing.TB, prefix string) []marked {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, prefix+"*.jpg"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	if raced {
		files = files[:min(2, len(files))]
	}
	all := make([]marked, len(files))
	for i, file := range files {
		m := marked{name: strings.TrimSuffix(filepath.Base(file), ".jpg"), kind: leaf.WholeLeaf}
		if strings.HasPrefix(m.name, "soybean") {
			m.kind = leaf.CloseUp
		}
		m.img, m.mask = decode(t, file), decode(t, strings.TrimSuffix(file, ".jpg")+".png")
		of, damaged := 0, 0
		for y := range m.mask.Bounds().Dy() {
			for x := range m.mask.Bounds().Dx() {
				if m.isLeaf(x, y) {
					of++
				}
				if r, _, _, _ := m.mask.At(x, y).RGBA(); r > 0 {
					damaged++
				}
			}
		}
		m.damaged = 100 * float64(damaged) / float64(of)
		all[i] = m
	}
	return all
}

// isLeaf reads the mask: everything is leaf in a close-up; else what has a colour.
func (m marked) isLeaf(x, y int) bool {
	r, g, _, _ := m.mask.At(x, y).RGBA()
	return m.kind == leaf.CloseUp || r > 0 || g > 0
}

func decode(t testing.TB, file string) image.Image {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	img, _, err := image.Decode(f)
	require.NoError(t, err)
	return img
}

// canvas is a copy of a picture to paint on.
func canvas(img image.Image) *image.RGBA {
	r := img.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		for x := range r.Dx() {
			out.Set(x, y, img.At(r.Min.X+x, r.Min.Y+y))
		}
	}
	return out
}

// paint lays a soft disc of a colour on the canvas; strength 1 hides what is below.
func paint(to *image.RGBA, cx, cy, radius float64, c color.RGBA, strength float64) {
	for y := int(cy - radius - 1); y <= int(cy+radius+1); y++ {
		for x := int(cx - radius - 1); x <= int(cx+radius+1); x++ {
			dx, dy := float64(x)-cx, float64(y)-cy
			if !(image.Point{X: x, Y: y}).In(to.Rect) || dx*dx+dy*dy > radius*radius {
				continue
			}
			old := to.RGBAAt(x, y)
			mix := func(a, b uint8) uint8 { return uint8(float64(a)*(1-strength) + float64(b)*strength) }
			to.SetRGBA(x, y, color.RGBA{R: mix(old.R, c.R), G: mix(old.G, c.G), B: mix(old.B, c.B), A: 255})
		}
	}
}

// spots are n places well inside the leaf of a map, the same ones for the same n.
func spots(m leaf.Map, n int) []image.Point {
	r := rand.New(rand.NewPCG(7, 7))
	inside := raster.NewMask(m.W, m.H)
	for i, p := range m.Parts {
		inside.In[i] = p != leaf.Ground
	}
	inside = inside.Shrink(20)
	var all []image.Point
	for len(all) < n {
		p := image.Pt(r.IntN(m.W), r.IntN(m.H))
		if inside.In[p.Y*m.W+p.X] {
			all = append(all, p)
		}
	}
	return all
}

// spoil blurs a picture with a Gaussian and lays noise of a deviation on it.
func spoil(img image.Image, sigma, noise float64) *image.RGBA {
	out := canvas(img)
	w := out.Rect.Dx()
	channel := make([]float32, w*out.Rect.Dy())
	r := rand.New(rand.NewPCG(1, 2))
	for c := range 3 {
		for i := range channel {
			channel[i] = float32(out.Pix[4*i+c])
		}
		if sigma > 0 {
			raster.Blur(channel, w, sigma)
		}
		for i, v := range channel {
			out.Pix[4*i+c] = uint8(min(max(float64(v)+r.NormFloat64()*noise+0.5, 0), 255))
		}
	}
	return out
}

// turned is the picture after one of the eight turns and mirrorings.
func turned(img *image.RGBA, way int) *image.RGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if way&4 != 0 {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			tx, ty := x, y
			if way&1 != 0 {
				tx = w - 1 - x
			}
			if way&2 != 0 {
				ty = h - 1 - y
			}
			if way&4 != 0 {
				tx, ty = ty, tx
			}
			out.SetRGBA(tx, ty, img.RGBAAt(x, y))
		}
	}
	return out
}
