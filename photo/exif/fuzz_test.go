package exif_test

import (
	"bytes"
	"image/color"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

// checkLaws strips and checks what must hold for any bytes: no panic, a result
// that is not much longer, and that stripping it again changes nothing.
func checkLaws(t require.TestingT, b []byte) {
	before := bytes.Clone(b)
	s, err := exif.Strip(b)
	require.Equal(t, before, b, "the input must stay as it was")
	if err != nil {
		return
	}
	require.LessOrEqual(t, len(s.Kept), len(b)+256)
	require.Positive(t, s.Frame.Width)
	require.Positive(t, s.Frame.Height)
	require.True(t, s.Tags.Orientation >= 1 && s.Tags.Orientation <= 8)
	again, err := exif.Strip(s.Kept)
	require.NoError(t, err)
	require.Equal(t, s, again)
}

// seeds are files to start from, small ones.
func seeds() [][]byte {
	files := [][]byte{
		progressive(), phototest.PNG(3, 2, 1), phototest.WebP(3, 2, color.NRGBA{1, 2, 3, 255}),
		pngAfterHeader(phototest.PNG(3, 2, 1), pngChunk("eXIf", gps()), pngChunk("iCCP", "x\x00\x00"+deflated(profile(128)))),
		webpOf(extended(hasEXIF|hasICC, 3, 2), riffChunk("ICCP", string(profile(129))),
			webpPixels(phototest.WebP(3, 2, color.NRGBA{})), riffChunk("EXIF", withDate("2026:03:01 18:22:31\x00", "+01:00\x00"))),
		after(progressive(), seg(0xe2, "ICC_PROFILE\x00\x01\x01"+string(profile(130))), seg(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x01")),
	}
	cases := jpegCases()
	for _, name := range slices.Sorted(maps.Keys(cases)) { // in order, so that a seed finds its file again
		if file := cases[name].file; len(file) < 1<<16 {
			files = append(files, file)
		}
	}
	return files
}

func FuzzStrip(f *testing.F) {
	for _, b := range seeds() {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) { checkLaws(t, b) })
}

// FuzzStripBlock puts hostile bytes where the tags are.
func FuzzStripBlock(f *testing.F) {
	f.Add([]byte(gps()))
	f.Add([]byte(withDate("2026:03:01 18:22:31\x00", "+01:00\x00")))
	base := progressive()
	f.Fuzz(func(t *testing.T, block []byte) {
		checkLaws(t, after(base, seg(0xe1, exifHead+string(block[:min(len(block), 60_000)]))))
	})
}

// TestStripLaws changes real files in a few places, which random bytes alone
// would hardly ever resemble.
func TestStripLaws(t *testing.T) {
	files := seeds()
	rapid.Check(t, func(t *rapid.T) {
		b := bytes.Clone(rapid.SampledFrom(files).Draw(t, "file"))
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			at := rapid.IntRange(0, len(b)-1).Draw(t, "at")
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				b[at] = rapid.Byte().Draw(t, "byte")
			case 1:
				b = append(b[:at:at], b[min(len(b), at+rapid.IntRange(1, 40).Draw(t, "cut")):]...)
			default:
				b = append(b[:at:at], append(rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(t, "insert"), b[at:]...)...)
			}
			if len(b) == 0 {
				return
			}
		}
		checkLaws(t, b)
	})
}
