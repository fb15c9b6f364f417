package exif_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

var upright = exif.Tags{Orientation: 1}

func turnedTo(o uint8) exif.Tags { return exif.Tags{Orientation: o} }

// canaries are the private things that the files below hide. None may be left.
var canaries = []string{"CANARY", "GPS", "motion", "Utopia", "\x25\x88\x04\x00", "\x88\x25\x00\x04", "ftyp", "8BIM"}

func requirePrivate(t *testing.T, kept []byte) {
	t.Helper()
	for _, c := range canaries {
		require.NotContains(t, string(kept), c)
	}
}

// jpegCases are JPEG files that must be accepted, each with one trap.
func jpegCases() map[string]struct {
	file []byte
	want exif.Tags
} {
	base := phototest.JPEG(48, 32, 1)
	app1 := func(block string) []byte { return after(base, seg(0xe1, exifHead+block)) }
	withThumb := after(base, seg(0xe1, exifHead+gps()))
	type c = struct {
		file []byte
		want exif.Tags
	}
	return map[string]c{
		"plain":                      {base, upright},
		"orientation":                {app1(tiff([]entry{turned}, 0, "")), turnedTo(6)},
		"time":                       {app1(withDate("2026:03:01 18:22:31\x00", "+01:00\x00")), exif.Tags{Orientation: 6, Taken: "2026-03-01T18:22:31+01:00"}},
		"time without offset":        {app1(withDate("2024:02:29 00:00:00\x00", "local  \x00")), exif.Tags{Orientation: 6, Taken: "2024-02-29T00:00:00"}},
		"no such day":                {app1(withDate("2026:02:29 00:00:00\x00", "+01:00\x00")), turnedTo(6)},
		"date is not digits":         {app1(withDate("CANARY:1 18:22:31 \x00", "+01:00\x00")), turnedTo(6)},
		"offset beyond the earth":    {app1(withDate("2026:03:01 18:22:31\x00", "+14:01\x00")), exif.Tags{Orientation: 6, Taken: "2026-03-01T18:22:31"}},
		"blank date":                 {app1(withDate("    :  :     :  :  \x00", "\x00\x00\x00\x00\x00\x00\x00")), turnedTo(6)},
		"position in exif":           {app1(gps()), turnedTo(6)},
		"position in xmp":            {after(base, seg(0xe1, "http://ns.adobe.com/xap/1.0/\x00<x exif:GPSLatitude='52,5N'/>")), upright},
		"position in extended xmp":   {after(base, seg(0xe1, "http://ns.adobe.com/xmp/extension/\x00"+strings.Repeat("0", 32)+"\x00\x00\x00\x28\x00\x00\x00\x00exif:GPSLatitude='52,5N'")), upright},
		"city in iptc":               {after(base, seg(0xed, "Photoshop 3.0\x008BIM\x04\x04\x00\x00\x00\x00\x00\x0b\x1c\x02\x5a\x00\x06Utopia")), upright},
		"comment":                    {after(base, seg(0xfe, "CANARY comment")), upright},
		"unknown application data":   {after(base, seg(0xe5, "CANARY"), seg(0xef, "CANARY")), upright},
		"maker notes":                {app1(tiff([]entry{turned, {0x8769, 4, 1, 38}}, 0, ifd(entry{0x927c, 7, 20, 56})+"CANARY maker note 001")), turnedTo(6)},
		"thumbnail in exif":          {app1(tiff([]entry{turned}, 26, ifd(entry{0x201, 4, 1, 60}, entry{0x202, 4, 1, uint32(len(withThumb))})+"1234"+string(withThumb))), turnedTo(6)},
		"thumbnail in jfif":          {after(base, seg(0xe0, "JFIF\x00\x01\x02\x01\x00\x48\x00\x48\x02\x02CANARY123456")), upright},
		"thumbnail in jfxx":          {after(base, seg(0xe0, "JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00"), seg(0xe0, "JFXX\x00\x10"+string(withThumb))), upright},
		"second pictures after end":  {append(after(base, seg(0xe2, "MPF\x00II*\x00CANARY")), withThumb...), upright},
		"motion clip after end":      {append(slices.Clone(base), "GPSLatitude ftypmp42 motion"...), upright},
		"two exif, the first wins":   {after(base, seg(0xe1, exifHead+tiff([]entry{{0x0112, 3, 1, 3}}, 0, "")), seg(0xe1, exifHead+gps())), turnedTo(3)},
		"exif after the pixels":      {beforeEnd(base, seg(0xe1, exifHead+gps())), upright},
		"exif in lower case":         {after(base, seg(0xe1, "exif\x00\x00"+gps())), upright},
		"fill bytes":                 {after(base, []byte{0xff, 0xff, 0xff}), upright},
		"stray bytes":                {after(base, seg(0xfe, "x"), []byte("CANARY\xff\x00motion")), upright},
		"fill bytes before the end":  {beforeEnd(base, []byte{0xff, 0xff}), upright},
		"stray restart after a scan": {beforeEnd(base, []byte{0xff, 0xd3}), upright},
		"twelve megabytes of exif":   {after(base, slices.Repeat(seg(0xe1, exifHead+strings.Repeat("CANARY..", 7500)), 200)), upright},
		"data between scans":         {betweenScans(), upright},
		"exif is cut":                {app1(tiff([]entry{turned}, 0, "")[:12]), upright},
		"directory points at itself": {app1(tiff([]entry{turned, {0x8769, 4, 1, 8}, {0x8825, 4, 1, 8}}, 8, "")), turnedTo(6)},
		"two directories in a loop":  {app1(tiff([]entry{turned, {0x8769, 4, 1, 38}}, 8, ifd(entry{0x8769, 4, 1, 8}))), turnedTo(6)},
		"count 2^32-1":               {app1(tiff([]entry{turned, {0x010f, 2, 0xffffffff, 8}, {0x9003, 2, 0xffffffff, 0xffffffff}}, 0, "")), turnedTo(6)},
		"date past the end":          {app1(tiff([]entry{turned, {0x8769, 4, 1, 38}}, 0, ifd(entry{0x9003, 2, 20, 0xfffffff0}))), turnedTo(6)},
		"65535 entries promised":     {app1(tiffOf(8, 65535, []entry{turned}, 0, "")), turnedTo(6)},
		"first offset past the end":  {app1(tiffOf(0xfffffff0, 1, []entry{turned}, 0, "")), upright},
		"first offset zero":          {app1(tiffOf(0, 1, []entry{turned}, 0, "")), upright},
		"orientation as long":        {app1(tiff([]entry{{0x0112, 4, 1, 6}}, 0, "")), turnedTo(6)},
		"orientation 99":             {app1(tiff([]entry{{0x0112, 3, 1, 99}}, 0, "")), upright},
		"orientation 0":              {app1(tiff([]entry{{0x0112, 3, 1, 0}}, 0, "")), upright},
		"orientation twice":          {app1(tiff([]entry{{0x0112, 3, 2, 6}}, 0, "")), upright},
		"progressive":                {after(progressive(), seg(0xe1, exifHead+gps())), turnedTo(6)},
		"profile that is none":       {after(base, seg(0xe2, "ICC_PROFILE\x00\x01\x01CANARY")), upright},
		"profile with a part twice":  {after(base, seg(0xe2, "ICC_PROFILE\x00\x01\x01"+string(profile(200))), seg(0xe2, "ICC_PROFILE\x00\x01\x01CANARY")), upright},
	}
}

// betweenScans puts a comment with a canary after each scan of a progressive file.
func betweenScans() []byte {
	var b []byte
	for i, part := range bytes.SplitAfter(progressive(), []byte{0x0f, 0xff}) {
		if i > 0 {
			b = append(b[:len(b)-1], seg(0xfe, "CANARY between scans")...)
			b = append(b, 0xff)
		}
		b = append(b, part...)
	}
	return b
}

func TestStripJPEG(t *testing.T) {
	for name, c := range jpegCases() {
		t.Run(name, func(t *testing.T) {
			s, err := exif.Strip(c.file)
			require.NoError(t, err)
			require.Equal(t, exif.JPEG, s.Type)
			require.Equal(t, c.want, s.Tags)
			requirePrivate(t, s.Kept)
			before, after := decodeJPEG(t, c.file), decodeJPEG(t, s.Kept)
			require.Equal(t, before, after, "the pixels must stay identical")
			require.Equal(t, before.Bounds().Size(), image.Pt(s.Frame.Width, s.Frame.Height))
			requireStable(t, s)
		})
	}
}

func decodeJPEG(t *testing.T, file []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	return img
}

// requireStable checks that stripping again changes nothing.
func requireStable(t *testing.T, s exif.Stripped) {
	t.Helper()
	again, err := exif.Strip(s.Kept)
	require.NoError(t, err)
	require.Equal(t, s, again)
}

func TestRefuseJPEG(t *testing.T) {
	base := phototest.JPEG(48, 32, 1)
	bomb := slices.Concat(base[:2], seg(0xc0, "\x08\xff\xff\xff\xff\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01"), []byte{0xff, 0xd9})
	scan := func(n int) []byte {
		p := progressive()
		end := len(p) - 2
		return slices.Concat(p[:end], slices.Repeat(append(seg(0xda, "\x01\x01\x00\x01\x05\x00"), 0x0f), n), p[end:])
	}
	for _, c := range []struct {
		name string
		file []byte
		want error
	}{
		{"length 0", after(base, seg(0xe1, "", 0)), exif.ErrDamaged},
		{"length 1", after(base, seg(0xe1, "", 1)), exif.ErrDamaged},
		{"length past the end", after(base, seg(0xe1, exifHead, 65535)), exif.ErrDamaged},
		{"no end marker", base[:len(base)-2], exif.ErrDamaged},
		{"cut in the scan", base[:len(base)*2/3], exif.ErrDamaged},
		{"cut in a header", base[:30], exif.ErrDamaged},
		{"start only", base[:3], exif.ErrDamaged},
		{"start and end", []byte{0xff, 0xd8, 0xff, 0xd9}, exif.ErrDamaged},
		{"frame without pixels", bomb, exif.ErrDamaged},
		{"two starts", after(base, []byte{0xff, 0xd8, 0xff, 0xd8}), exif.ErrDamaged},
		{"two frames", after(base, seg(0xc0, "\x08\x00\x10\x00\x10\x01\x01\x11\x00")), exif.ErrDamaged},
		{"frame of no size", after(base[:2], seg(0xc0, "\x08\x00\x00\x00\x10\x01\x01\x11\x00"), base[2:]), exif.ErrDamaged},
		{"a thousand scans", scan(1000), exif.ErrDamaged},
		{"lossless", after(base, seg(0xc3, "\x08\x00\x10\x00\x10\x01\x01\x11\x00")), exif.ErrTypeUnsupported},
		{"height given later", after(base, seg(0xdc, "\x00\x10")), exif.ErrTypeUnsupported},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := exif.Strip(c.file)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestProfileIsKept(t *testing.T) {
	base := phototest.JPEG(48, 32, 1)
	for _, n := range []int{128, 3144, 200_000} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			icc := profile(n)
			var parts [][]byte
			const part = 50_000
			total := (n + part - 1) / part
			for i := range total { // out of order, which the standard allows
				at := total - 1 - i
				parts = append(parts, seg(0xe2, "ICC_PROFILE\x00"+string([]byte{byte(at + 1), byte(total)})+string(icc[at*part:min(n, (at+1)*part)])))
			}
			s, err := exif.Strip(after(base, parts...))
			require.NoError(t, err)
			require.Equal(t, icc, s.Profile)
			requireStable(t, s)
			carried, err := exif.Strip(exif.WithProfile(base, s.Profile))
			require.NoError(t, err)
			require.Equal(t, icc, carried.Profile)
		})
	}
	require.Equal(t, base, exif.WithProfile(base, nil))
	require.Equal(t, base, exif.WithProfile(base, []byte("no profile")))
}

func TestMemoryOfAFrame(t *testing.T) {
	s, err := exif.Strip(progressive())
	require.NoError(t, err)
	require.EqualValues(t, 16*16*5, s.Frame.Memory)
	s, err = exif.Strip(phototest.JPEG(48, 32, 1)) // 4:2:0
	require.NoError(t, err)
	require.EqualValues(t, 48*32*3/2, s.Frame.Memory)
	adobe := seg(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x00") // not YCbCr: converted after decoding
	s, err = exif.Strip(after(phototest.JPEG(48, 32, 1), adobe))
	require.NoError(t, err)
	require.EqualValues(t, 48*32*3/2+48*32*4, s.Frame.Memory)
	requireStable(t, s)
}

func TestFreshBlockHoldsNothingElse(t *testing.T) {
	base := phototest.JPEG(48, 32, 1)
	s, err := exif.Strip(after(base, seg(0xe1, exifHead+withDate("2026:03:01 18:22:31\x00", "+01:00\x00"))))
	require.NoError(t, err)
	block := "MM\x00*\x00\x00\x00\x08" +
		"\x00\x02" + "\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00" + "\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x26" + "\x00\x00\x00\x00" +
		"\x00\x02" + "\x90\x03\x00\x02\x00\x00\x00\x14\x00\x00\x00\x44" + "\x90\x11\x00\x02\x00\x00\x00\x07\x00\x00\x00\x58" + "\x00\x00\x00\x00" +
		"2026:03:01 18:22:31\x00" + "+01:00\x00"
	require.Equal(t, after(base, seg(0xe1, exifHead+block)), s.Kept)
}

// TestRealPhoto strips a photo as a phone writes it: position in EXIF and in XMP,
// serial number, stored turned.
func TestRealPhoto(t *testing.T) {
	file, err := os.ReadFile("../../testdata/photos/leaf-underside-with-position.jpg")
	require.NoError(t, err)
	s, err := exif.Strip(file)
	require.NoError(t, err)
	require.Equal(t, exif.Tags{Orientation: 6, Taken: "2026-03-01T18:22:31+00:00"}, s.Tags)
	require.Equal(t, decodeJPEG(t, file), decodeJPEG(t, s.Kept))
	require.Equal(t, scanOf(t, file), scanOf(t, s.Kept), "the compressed pixels must stay bit for bit")
	for _, private := range []string{"GPS", "\x88\x25\x00\x04", "INVENTED", "Invented", "xmp"} {
		require.Contains(t, string(file), private)
		require.NotContains(t, string(s.Kept), private)
	}
	requireStable(t, s)
}

// scanOf is everything from the last start of a scan to the end of the image.
func scanOf(t *testing.T, file []byte) []byte {
	t.Helper()
	start, end := bytes.LastIndex(file, []byte("\xff\xda")), bytes.LastIndex(file, []byte("\xff\xd9"))
	require.Less(t, start, end)
	return file[start : end+2]
}
