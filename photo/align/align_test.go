package align_test

import (
	"flag"
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/align"
	"leafturn/photo/align/aligntest"
)

const leaves = "../../testdata/leaf"

var every = flag.Int("every", 3, "which share of the leaf photographs is used: one in so many")

func some(t *testing.T, all []image.Image, err error) []image.Image {
	t.Helper()
	require.NoError(t, err)
	var out []image.Image
	for i := 0; i < len(all); i += *every {
		out = append(out, all[i])
	}
	return out
}

// The goal: at least 95 % near, and never a wrong one that is presented as found.
func TestAlignsChangedCopies(t *testing.T) {
	all, err := aligntest.Leaves(leaves)
	pictures := some(t, all, err)
	s := aligntest.Same(pictures, 1)
	require.Zero(t, s.Wrong)
	require.GreaterOrEqual(t, s.Right*100, 95*len(pictures))
}

func TestRefusesOtherLeaves(t *testing.T) {
	all, err := aligntest.Leaves(leaves)
	s := aligntest.Different(some(t, all, err), 2)
	require.Zero(t, s.Wrong)
	require.Positive(t, s.Refused)
}

// The table is the same and aligns perfectly; the leaf on it is another.
func TestRefusesOtherLeavesOnTheSameTable(t *testing.T) {
	all, err := aligntest.LeavesOnTable(leaves)
	pictures := some(t, all, err)
	s := aligntest.Different(pictures, 2)
	require.Zero(t, s.Wrong)
	s = aligntest.Same(pictures, 1)
	require.Equal(t, len(pictures), s.Right, "the same leaf on the same table is aligned")
}

func TestSaysHowSureItIs(t *testing.T) {
	all, err := aligntest.Leaves(leaves)
	require.NoError(t, err)
	c := aligntest.Draw(77, all[0].Bounds().Size())
	r := align.Find(all[0], c.Of(all[0]))
	require.Equal(t, align.Method, r.Method)
	require.Empty(t, r.CannotAlign)
	require.Greater(t, r.Confidence, 0.5)
	require.Greater(t, r.Agreeing, 12)
	require.Less(t, r.Error*640, 4.0)
	require.Less(t, aligntest.Off(r.Similarity, c.Similarity, all[0].Bounds().Size()), 4.0)
}

// Copies of other sizes have the same similarity, because coordinates are shares
// of the longer side.
func TestSizeDoesNotMatter(t *testing.T) {
	all, err := aligntest.Leaves(leaves)
	require.NoError(t, err)
	b := all[1].Bounds()
	double := image.NewRGBA(image.Rect(0, 0, 2*b.Dx(), 2*b.Dy()))
	for y := range 2 * b.Dy() {
		for x := range 2 * b.Dx() {
			double.Set(x, y, all[1].At(b.Min.X+x/2, b.Min.Y+y/2))
		}
	}
	r := align.Find(all[1], double)
	require.Empty(t, r.CannotAlign)
	require.Less(t, aligntest.Off(r.Similarity, align.Identity, b.Size()), 1.0)
}

func TestSaysWhyItCannotAlign(t *testing.T) {
	all, err := aligntest.Leaves(leaves)
	require.NoError(t, err)
	plain := image.NewRGBA(image.Rect(0, 0, 640, 480))
	draw.Draw(plain, plain.Rect, image.NewUniform(color.Gray{120}), image.Point{}, draw.Src)
	for _, test := range []struct {
		name string
		img  image.Image
		why  align.Reason
	}{
		{"no picture", nil, align.TooSmall},
		{"an empty picture", image.NewGray(image.Rectangle{}), align.TooSmall},
		{"a strip", image.NewGray(image.Rect(0, 0, 4000, 3)), align.TooSmall},
		{"nothing to see", plain, align.TooPlain},
		{"black", image.NewGray(plain.Rect), align.TooPlain},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := align.Find(all[0], test.img)
			require.Equal(t, test.why, r.CannotAlign)
			require.Zero(t, r.Confidence)
		})
	}
}

func TestAnyPictures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := boxes(t), boxes(t)
		r := align.Find(a, b)
		require.False(t, r.CannotAlign == align.Aligned && r.Agreeing < 12)
		require.False(t, math.IsNaN(r.Confidence))
	})
}

func boxes(t *rapid.T) image.Image {
	w, h := rapid.IntRange(1, 400).Draw(t, "width"), rapid.IntRange(1, 400).Draw(t, "height")
	img := image.NewGray(image.Rect(0, 0, w, h))
	for range rapid.IntRange(0, 30).Draw(t, "boxes") {
		at := image.Pt(rapid.IntRange(0, w).Draw(t, "x"), rapid.IntRange(0, h).Draw(t, "y"))
		size := image.Pt(rapid.IntRange(0, w).Draw(t, "w"), rapid.IntRange(0, h).Draw(t, "h"))
		draw.Draw(img, image.Rectangle{at, at.Add(size)}, image.NewUniform(color.Gray{rapid.Byte().Draw(t, "grey")}), image.Point{}, draw.Src)
	}
	return img
}

func FuzzFind(f *testing.F) {
	f.Add(uint16(200), uint16(150), []byte{1, 200, 30, 90, 255})
	f.Fuzz(func(t *testing.T, w, h uint16, pix []byte) {
		img := image.NewGray(image.Rect(0, 0, int(w%800), int(h%800)))
		for i := range img.Pix {
			if len(pix) > 0 {
				img.Pix[i] = pix[(i/3)%len(pix)]
			}
		}
		r := align.Find(img, img)
		require.False(t, math.IsNaN(r.Error+r.Confidence) && r.CannotAlign == align.Aligned)
	})
}
