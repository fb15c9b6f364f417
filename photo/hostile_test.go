package photo_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image/color"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/phototest"
)

// pngOf is a PNG that promises a size and holds these compressed pixels, by default
// none to speak of.
func pngOf(w, h uint32, pixels ...byte) []byte {
	if pixels == nil {
		pixels = []byte("\x78\x9c\x03\x00\x00\x00\x00\x01")
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	return slices.Concat([]byte("\x89PNG\r\n\x1a\n"),
		pngChunk("IHDR"+string(head)+"\x08\x02\x00\x00\x00"), pngChunk("IDAT"+string(pixels)), pngChunk("IEND"))
}

// pngChunk adds the length and the check sum to a chunk's name and data.
func pngChunk(c string) []byte {
	b := append(binary.BigEndian.AppendUint32(nil, uint32(len(c)-4)), c...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE([]byte(c)))
}

// deflated is b in the compression of PNG.
func deflated(b []byte) []byte {
	var out bytes.Buffer
	z := zlib.NewWriter(&out)
	_, _ = z.Write(b) // a buffer takes everything
	_ = z.Close()
	return out.Bytes()
}

// bomb is a hundred megabytes of zeros in a hundred kilobytes.
var bomb = sync.OnceValue(func() []byte { return deflated(make([]byte, 100<<20)) })

// movingPNG is a PNG that announces two frames.
func movingPNG() []byte {
	const header = 8 + 12 + 13
	return slices.Insert(phototest.PNG(8, 8, 1), header, pngChunk("acTL\x00\x00\x00\x02\x00\x00\x00\x00")...)
}

// jpegSized is a small JPEG whose frame header promises another size.
func jpegSized(w, h uint16, frame byte) []byte {
	b := phototest.JPEG(16, 16, 1)
	at := bytes.Index(b, []byte{0xff, 0xc0})
	b[at+1] = frame
	binary.BigEndian.PutUint16(b[at+5:], h)
	binary.BigEndian.PutUint16(b[at+7:], w)
	return b
}

// movingWebP is a WebP whose header says that it moves.
func movingWebP() []byte {
	still := phototest.WebP(20, 12, color.NRGBA{1, 2, 3, 255})
	file := slices.Insert(slices.Clone(still), 12, []byte("VP8X\x0a\x00\x00\x00\x02\x00\x00\x00\x13\x00\x00\x0b\x00\x00")...)
	binary.LittleEndian.PutUint32(file[4:], uint32(len(file)-8))
	return file
}

// TestHostileFilesAreRefused: each is refused with words, before it has cost much, and
// nothing of it is stored. Names and declared types do not exist for Receive.
func TestHostileFilesAreRefused(t *testing.T) {
	jpg := phototest.JPEG(640, 480, 1)
	for _, c := range []struct {
		name string
		file []byte
		want fault.Code
	}{
		{"nothing", nil, "photo_not_image"},
		{"text", []byte("hello"), "photo_not_image"},
		{"html", []byte("<!doctype html><script>alert(1)</script>"), "photo_not_image"},
		{"html before a jpeg", append([]byte("<script>1</script>"), jpg...), "photo_not_image"},
		{"heic, whatever its name", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "photo_type_unsupported"},
		{"avif", []byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif"), "photo_type_unsupported"},
		{"gif", []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), "photo_type_unsupported"},
		{"svg", []byte("<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>"), "photo_type_unsupported"},
		{"svg with a declaration", []byte("\xef\xbb\xbf<?xml version='1.0'?>\n<svg onload='alert(1)'/>"), "photo_type_unsupported"},
		{"pdf", []byte("%PDF-1.7\n"), "photo_not_image"},
		{"zip", []byte("PK\x03\x04\x14\x00\x00\x00\x08\x00"), "photo_not_image"},
		{"zip before a jpeg", append([]byte("PK\x03\x04"), jpg...), "photo_not_image"},
		{"moving gif", []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00!\xff\x0bNETSCAPE2.0"), "photo_type_unsupported"},
		{"moving png", movingPNG(), "photo_animated"},
		{"moving webp", movingWebP(), "photo_animated"},
		{"jpeg without end", jpg[:len(jpg)-2], "photo_damaged"},
		{"jpeg cut in half", jpg[:len(jpg)/2], "photo_damaged"},
		{"jpeg cut in half, with an end", append(slices.Clone(jpg[:len(jpg)/2]), 0xff, 0xd9), "photo_damaged"},
		{"jpeg that promises too much", jpegSized(4000, 3000, 0xc0), "photo_damaged"},
		{"png without pixels", pngOf(100, 100), "photo_damaged"},
		{"png whose pixels inflate to 100 MB", pngOf(100, 100, bomb()...), "photo_damaged"},
		{"jpeg of 60000 by 60000", jpegSized(60000, 60000, 0xc0), "photo_too_many_pixels"},
		{"png of 60000 by 60000", pngOf(60000, 60000), "photo_too_many_pixels"},
		{"png of 60000 by 60000 whose pixels inflate to 100 MB", pngOf(60000, 60000, bomb()...), "photo_too_many_pixels"},
		{"jpeg of 65535 by 65535", jpegSized(65535, 65535, 0xc0), "photo_too_many_pixels"},
		{"png of 40000 by 40000", pngOf(40000, 40000), "photo_too_many_pixels"},
		{"png of 2^31-1 by 2^31-1", pngOf(1<<31-1, 1<<31-1), "photo_too_many_pixels"},
		{"webp of 16383 by 16383", phototest.WebP(16383, 16383, color.NRGBA{}), "photo_too_many_pixels"},
		{"progressive jpeg within the pixels, not the memory", jpegSized(7500, 6600, 0xc2), "photo_too_many_pixels"},
		{"over 20 MiB", append(slices.Clone(jpg), make([]byte, 20<<20)...), "photo_too_large"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := phototest.NewMemory()
			sum := photo.SumOf(c.file)
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := photo.Receive(t.Context(), s, home, sum, bytes.NewReader(c.file), int64(len(c.file)), photo.DefaultLimits())
			runtime.ReadMemStats(&after)
			require.Equal(t, c.want, fault.CodeOf(err))
			require.True(t, photo.Refused(err))
			there, err := s.Has(t.Context(), home, sum)
			require.NoError(t, err)
			require.False(t, there)
			require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(50<<20), "bytes allocated to refuse")
		})
	}
}

// exifBlock is a JPEG segment with one TIFF directory of raw entries.
func exifBlock(entries ...string) []byte {
	return segment(0xe1, "Exif\x00\x00MM\x00*\x00\x00\x00\x08"+string([]byte{0, byte(len(entries))})+strings.Join(entries, "")+"\x00\x00\x00\x08")
}

// TestHostileFilesAreNeutralised: each is a sound picture that carries something else
// along. The picture is kept, the rest is gone, at little cost.
func TestHostileFilesAreNeutralised(t *testing.T) {
	jpg, png := phototest.JPEG(64, 48, 1), phototest.PNG(64, 48, 1)
	const (
		turned  = "\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00"
		toSelf  = "\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x08"
		gpsSelf = "\x88\x25\x00\x04\x00\x00\x00\x01\x00\x00\x00\x08"
		huge    = "\x01\x0f\x00\x02\xff\xff\xff\xff\x00\x00\x00\x08"
	)
	withPart := func(file []byte, at int, parts ...[]byte) []byte {
		return slices.Insert(slices.Clone(file), at, slices.Concat(parts...)...)
	}
	for name, file := range map[string][]byte{
		"html in a comment":                withPart(jpg, 2, segment(0xfe, "--><script>CANARY</script>")),
		"pdf in a comment":                 withPart(jpg, 2, segment(0xfe, "%PDF-1.7 CANARY")),
		"zip behind a jpeg":                append(slices.Clone(jpg), "PK\x03\x04 CANARY"...),
		"zip behind a png":                 append(slices.Clone(png), "PK\x03\x04 CANARY"...),
		"script behind a jpeg":             append(slices.Clone(jpg), "<?php CANARY ?>"...),
		"directories that loop":            withPart(jpg, 2, exifBlock(turned, toSelf, gpsSelf)),
		"a count of 2^32-1":                withPart(jpg, 2, exifBlock(turned, huge)),
		"two hundred blocks":               withPart(jpg, 2, slices.Repeat(segment(0xe1, strings.Repeat("CANARY..", 7500)), 200)),
		"png text that inflates to 100 MB": withPart(png, 33, pngChunk("zTXtCANARY\x00\x00"+string(bomb()))),
		"png profile that inflates":        withPart(png, 33, pngChunk("iCCPCANARY\x00\x00"+string(bomb()))),
	} {
		t.Run(name, func(t *testing.T) {
			s := phototest.NewMemory()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			info, err := receive(t, s, file)
			runtime.ReadMemStats(&after)
			require.NoError(t, err)
			require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(50<<20))
			kept, _, err := s.Read(t.Context(), home, info.Sum)
			require.NoError(t, err)
			for _, hidden := range []string{"CANARY", "PK\x03\x04", "%PDF", "zTXt", "\x88\x25\x00\x04"} {
				require.NotContains(t, string(kept), hidden)
			}
			require.Less(t, len(kept), len(png)+200)
		})
	}
}
