package exif_test

import (
	"bytes"
	"encoding/binary"
	"image/color"
	"image/png"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/webp"

	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

func TestStripPNG(t *testing.T) {
	base := phototest.PNG(20, 12, 1)
	beforeEnd := func(parts ...[]byte) []byte {
		return slices.Concat(base[:len(base)-12], slices.Concat(parts...), base[len(base)-12:])
	}
	for _, c := range []struct {
		name string
		file []byte
		want exif.Tags
	}{
		{"plain", base, upright},
		{"position", pngAfterHeader(base, pngChunk("eXIf", gps())), turnedTo(6)},
		{"position with a JPEG's prefix", pngAfterHeader(base, pngChunk("eXIf", exifHead+gps())), turnedTo(6)},
		{"exif after the pixels", beforeEnd(pngChunk("eXIf", gps())), turnedTo(6)},
		{"two exif, the first wins", pngAfterHeader(base, pngChunk("eXIf", tiff([]entry{{0x0112, 3, 1, 3}}, 0, "")), pngChunk("eXIf", gps())), turnedTo(3)},
		{"texts", pngAfterHeader(base, pngChunk("tEXt", "Author\x00CANARY"), pngChunk("zTXt", "Raw profile type exif\x00\x00CANARY"),
			pngChunk("iTXt", "XML:com.adobe.xmp\x00\x00\x00\x00\x00GPS"), pngChunk("tIME", "\x07\xea\x03\x01\x12\x16\x1f")), upright},
		{"private chunk", pngAfterHeader(base, pngChunk("prVt", "CANARY")), upright},
		{"check sum of a dropped chunk", pngAfterHeader(base, append(pngChunk("tEXt", "CANARY")[:14], "1234"...)), upright},
		{"bytes after the end", append(slices.Clone(base), "CANARY motion"...), upright},
		{"profile loses its name", pngAfterHeader(base, pngChunk("iCCP", "CANARY screen\x00\x00"+deflated(profile(500)))), upright},
		{"bytes after the profile", pngAfterHeader(base, pngChunk("iCCP", "x\x00\x00"+deflated(profile(500))+"CANARY")), upright},
		{"profile that is none", pngAfterHeader(base, pngChunk("iCCP", "x\x00\x00CANARY")), upright},
		{"profile that holds something else", pngAfterHeader(base, pngChunk("iCCP", "x\x00\x00"+deflated(bytes.Repeat([]byte("CANARY"), 99)))), upright},
		{"profile of another method", pngAfterHeader(base, pngChunk("iCCP", "CANARY\x00\x01"+deflated(profile(500)))), upright},
		{"second profile", pngAfterHeader(base, pngChunk("iCCP", "x\x00\x00"+deflated(profile(500))), pngChunk("iCCP", "CANARY\x00\x00"+deflated(profile(600)))), upright},
		{"gamma that is none", pngAfterHeader(base, pngChunk("gAMA", "CANARY")), upright},
		{"second gamma", pngAfterHeader(base, pngChunk("gAMA", "\x00\x00\xb1\x8f"), pngChunk("gAMA", "\x00GPS")), upright},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := exif.Strip(c.file)
			require.NoError(t, err)
			require.Equal(t, exif.PNG, s.Type)
			require.Equal(t, c.want, s.Tags)
			requirePrivate(t, s.Kept)
			require.NotContains(t, string(s.Kept), "tIME")
			before, err := png.Decode(bytes.NewReader(base))
			require.NoError(t, err)
			after, err := png.Decode(bytes.NewReader(s.Kept))
			require.NoError(t, err)
			require.Equal(t, before, after)
			requireStable(t, s)
		})
	}
}

// TestProfileOfPNG: the copies of a PNG need its profile as well.
func TestProfileOfPNG(t *testing.T) {
	base := phototest.PNG(20, 12, 1)
	for name, c := range map[string]struct {
		chunk string
		want  []byte
	}{
		"whole":          {"x\x00\x00" + deflated(profile(500)), profile(500)},
		"cut":            {"x\x00\x00" + deflated(profile(500))[:10], nil},
		"inflates":       {"x\x00\x00" + deflated(make([]byte, 100<<20)), nil},
		"without a zero": {"x", nil},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := exif.Strip(pngAfterHeader(base, pngChunk("iCCP", c.chunk)))
			require.NoError(t, err)
			require.Equal(t, c.want, s.Profile)
			require.Equal(t, c.want != nil, strings.Contains(string(s.Kept), "iCCP"))
			requireStable(t, s)
		})
	}
}

func TestRefusePNG(t *testing.T) {
	base := phototest.PNG(20, 12, 1)
	flipped := slices.Clone(base)
	flipped[len(flipped)/2] ^= 1
	for _, c := range []struct {
		name string
		file []byte
		want error
	}{
		{"animated", pngAfterHeader(base, pngChunk("acTL", "\x00\x00\x00\x02\x00\x00\x00\x00")), exif.ErrAnimated},
		{"no end", base[:len(base)-12], exif.ErrDamaged},
		{"cut", base[:len(base)/2], exif.ErrDamaged},
		{"start only", base[:8], exif.ErrDamaged},
		{"flipped bit", flipped, exif.ErrDamaged},
		{"chunk of 4 GB", pngAfterHeader(base, []byte("\xff\xff\xff\xffIDATxxxxxxxx")), exif.ErrDamaged},
		{"no header", append([]byte(base[:8:8]), base[33:]...), exif.ErrDamaged},
		{"two headers", pngAfterHeader(base, base[8:33]), exif.ErrDamaged},
		{"no pixels", append([]byte(base[:33:33]), pngChunk("IEND", "")...), exif.ErrDamaged},
		{"palette of 257 colours", pngAfterHeader(base, pngChunk("PLTE", strings.Repeat("rgb", 257))), exif.ErrDamaged},
		{"unknown critical chunk", pngAfterHeader(base, pngChunk("ABCD", "")), exif.ErrTypeUnsupported},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := exif.Strip(c.file)
			require.ErrorIs(t, err, c.want)
		})
	}
}

const (
	hasXMP, hasEXIF, hasAlpha, hasICC, moves = 1 << 2, 1 << 3, 1 << 4, 1 << 5, 1 << 1
)

func TestStripWebP(t *testing.T) {
	base := phototest.WebP(20, 12, color.NRGBA{200, 60, 30, 255})
	pixels := webpPixels(base)
	for _, c := range []struct {
		name  string
		file  []byte
		want  exif.Tags
		flags byte
	}{
		{"position", webpOf(extended(hasEXIF, 20, 12), pixels, riffChunk("EXIF", gps())), turnedTo(6), hasEXIF},
		{"position with a JPEG's prefix", webpOf(extended(hasEXIF, 20, 12), pixels, riffChunk("EXIF", exifHead+gps())), turnedTo(6), hasEXIF},
		{"upright", webpOf(extended(hasEXIF|hasXMP, 20, 12), pixels, riffChunk("EXIF", tiff(nil, 0, "CANARY")), riffChunk("XMP ", "GPS")), upright, 0},
		{"flags that lie", webpOf(extended(0xfd, 20, 12), pixels), upright, hasAlpha},
		{"profile", webpOf(extended(hasICC, 20, 12), riffChunk("ICCP", string(profile(133))), pixels), upright, hasICC},
		{"profile that is none", webpOf(extended(hasICC, 20, 12), riffChunk("ICCP", "CANARY"), pixels), upright, 0},
		{"unknown chunk", webpOf(extended(0, 20, 12), riffChunk("what", "CANARY"), pixels), upright, 0},
		{"bytes after the end", append(webpOf(extended(0, 20, 12), pixels), "CANARY"...), upright, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := exif.Strip(c.file)
			require.NoError(t, err)
			require.Equal(t, exif.WebP, s.Type)
			require.Equal(t, c.want, s.Tags)
			requirePrivate(t, s.Kept)
			require.NotContains(t, string(s.Kept), "XMP ")
			require.Equal(t, "VP8X", string(s.Kept[12:16]))
			require.Equal(t, c.flags, s.Kept[20])
			require.EqualValues(t, len(s.Kept)-8, binary.LittleEndian.Uint32(s.Kept[4:]))
			before, err := webp.Decode(bytes.NewReader(base))
			require.NoError(t, err)
			after, err := webp.Decode(bytes.NewReader(s.Kept))
			require.NoError(t, err)
			require.Equal(t, before, after)
			requireStable(t, s)
		})
	}
}

func TestSimpleWebPHasNoTags(t *testing.T) {
	base := phototest.WebP(20, 12, color.NRGBA{200, 60, 30, 255})
	s, err := exif.Strip(webpOf(webpPixels(base), riffChunk("EXIF", gps())))
	require.NoError(t, err)
	require.Equal(t, base, s.Kept)
	require.Equal(t, upright, s.Tags)
	require.Equal(t, exif.Frame{Width: 20, Height: 12, Memory: 20 * 12 * 8}, s.Frame)
}

func TestRefuseWebP(t *testing.T) {
	base := phototest.WebP(20, 12, color.NRGBA{200, 60, 30, 255})
	pixels := webpPixels(base)
	for _, c := range []struct {
		name string
		file []byte
		want error
	}{
		{"animated by flag", webpOf(extended(moves, 20, 12), pixels), exif.ErrAnimated},
		{"animated by chunk", webpOf(extended(0, 20, 12), riffChunk("ANIM", "\x00\x00\x00\x00\x00\x00"), pixels), exif.ErrAnimated},
		{"cut", base[:len(base)-4], exif.ErrDamaged},
		{"size 0", append([]byte("RIFF\x00\x00\x00\x00WEBP"), pixels...), exif.ErrDamaged},
		{"chunk past the end", webpOf([]byte("VP8L\xff\xff\xff\xff1234")), exif.ErrDamaged},
		{"stray bytes", webpOf(pixels, []byte("1234")), exif.ErrDamaged},
		{"no pixels", webpOf(extended(0, 20, 12)), exif.ErrDamaged},
		{"two pictures", webpOf(pixels, pixels), exif.ErrDamaged},
		{"small canvas, large picture", webpOf(extended(0, 20, 12), webpPixels(phototest.WebP(16000, 16000, color.NRGBA{}))), exif.ErrDamaged},
		{"header after the pixels", webpOf(pixels, extended(0, 20, 12)), exif.ErrDamaged},
		{"no pixel header", webpOf(riffChunk("VP8 ", "0123456789")), exif.ErrDamaged},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := exif.Strip(c.file)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestSniff(t *testing.T) {
	ftyp := func(brand string) string { return "\x00\x00\x00\x18ftyp" + brand + "\x00\x00\x00\x00mif1" }
	for _, c := range []struct {
		name, file string
		want       error
	}{
		{"heic", ftyp("heic"), exif.ErrTypeUnsupported},
		{"heix", ftyp("heix"), exif.ErrTypeUnsupported},
		{"mif1", ftyp("mif1"), exif.ErrTypeUnsupported},
		{"avif", ftyp("avif"), exif.ErrTypeUnsupported},
		{"film", ftyp("mp42"), exif.ErrTypeUnsupported},
		{"gif", "GIF89a\x01\x00", exif.ErrTypeUnsupported},
		{"tiff", "II*\x00\x08\x00", exif.ErrTypeUnsupported},
		{"bmp", "BM\x00\x00", exif.ErrTypeUnsupported},
		{"svg", "\xef\xbb\xbf <svg xmlns='http://www.w3.org/2000/svg'/>", exif.ErrTypeUnsupported},
		{"svg behind a declaration", "<?xml version='1.0'?>\n<!-- x --><svg/>", exif.ErrTypeUnsupported},
		{"html", "<!doctype html><script>1</script>", exif.ErrNotImage},
		{"xml", "<?xml version='1.0'?><a/>", exif.ErrNotImage},
		{"text", "hello", exif.ErrNotImage},
		{"nothing", "", exif.ErrNotImage},
		{"html before a JPEG", "<html>" + string(phototest.JPEG(8, 8, 1)), exif.ErrNotImage},
		{"riff of sound", "RIFF\x00\x00\x00\x00WAVE", exif.ErrNotImage},
		{"long text", strings.Repeat("x", 5000), exif.ErrNotImage},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := exif.Sniff([]byte(c.file))
			require.ErrorIs(t, err, c.want)
			_, err = exif.Strip([]byte(c.file))
			require.ErrorIs(t, err, c.want)
		})
	}
}
