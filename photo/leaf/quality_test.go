package leaf_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/leaf"
)

// The photographs are 640 pixels long, so that a blur of 2 is one of 4 at 1280.
func TestBlurIsSeenThroughNoise(t *testing.T) {
	for _, e := range append(load(t, "coffee-3"), append(load(t, "soybean-23"), load(t, "soybean-37")...)...) {
		for _, noise := range []float64{0, 8} {
			sharp := leaf.Check(spoil(e.img, 0, noise))
			require.Equal(t, leaf.OK, sharp.Reason, "%s, noise %v: %+v", e.name, noise, sharp)
			little := leaf.Check(spoil(e.img, 0.75, noise))
			require.Less(t, little.Sharpness, sharp.Sharpness, e.name)
			blurred := leaf.Check(spoil(e.img, 2, noise))
			require.Less(t, blurred.Sharpness, little.Sharpness, e.name)
			require.Equal(t, leaf.Blurred, blurred.Reason, "%s, noise %v: %+v", e.name, noise, blurred)
		}
	}
}

// Noise must not make a sharp photograph sharper, nor a blurred one sharp.
func TestNoiseHardlyMovesSharpness(t *testing.T) {
	for _, e := range append(load(t, "coffee-318"), load(t, "soybean-7")...) {
		for _, blur := range []float64{0, 1, 2} {
			clean := leaf.Check(spoil(e.img, blur, 0)).Sharpness
			grainy := leaf.Check(spoil(e.img, blur, 8)).Sharpness
			require.InDelta(t, clean, grainy, 0.08*clean, "%s blurred by %v", e.name, blur)
		}
	}
}

func TestSharpnessDoesNotHangOnTheSizeOfTheFile(t *testing.T) {
	e := load(t, "soybean-7")[0]
	small := spoil(e.img, 1.2, 0)
	require.InDelta(t, leaf.Check(small).Sharpness, leaf.Check(enlarged(small)).Sharpness, 0.15)
}

func TestLight(t *testing.T) {
	e := load(t, "coffee-1010")[0]
	for _, c := range []struct {
		name     string
		by, plus float64
		want     leaf.Reason
	}{
		{"as taken", 1, 0, leaf.OK},
		{"dim, but visible", 0.5, 0, leaf.OK},
		{"too dark", 0.25, 0, leaf.TooDark},
		{"bright, but with detail", 0.6, 100, leaf.OK},
		{"too bright", 0.4, 212, leaf.TooBright},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := leaf.Check(scaledLight(e.img, c.by, c.plus))
			require.Equal(t, c.want, q.Reason, "%+v", q)
			require.LessOrEqual(t, q.Dark, q.Bright)
		})
	}
}
