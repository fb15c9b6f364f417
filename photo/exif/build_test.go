package exif_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image/jpeg"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/phototest"
)

// Builders of picture files with parts that a camera, or somebody with bad
// intentions, might write. They share no code with the package under test.

const exifHead = "Exif\x00\x00"

// seg is a JPEG segment. A negative length means the true one.
func seg(marker byte, payload string, length ...int) []byte {
	n := len(payload) + 2
	if len(length) > 0 {
		n = length[0]
	}
	return append([]byte{0xff, marker, byte(n >> 8), byte(n)}, payload...)
}

// after puts parts right after the start of a JPEG.
func after(file []byte, parts ...[]byte) []byte {
	return slices.Concat(file[:2], slices.Concat(parts...), file[2:])
}

// beforeEnd puts parts right before the end marker of a JPEG.
func beforeEnd(file []byte, parts ...[]byte) []byte {
	end := len(file) - 2
	return slices.Concat(file[:end], slices.Concat(parts...), file[end:])
}

// entry is one tag of a TIFF directory.
type entry struct {
	tag, typ     uint16
	count, value uint32
}

var turned = entry{0x0112, 3, 1, 6}

// tiff is a little-endian block whose IFD0 holds the entries, then next, then tail.
// The tail starts at byte 10 + 12 * len(entries) + 4.
func tiff(entries []entry, next uint32, tail string) string {
	return tiffOf(8, uint16(len(entries)), entries, next, tail)
}

func tiffOf(first uint32, n uint16, entries []entry, next uint32, tail string) string {
	le := binary.LittleEndian
	b := le.AppendUint32([]byte("II*\x00"), first)
	b = le.AppendUint16(b, n)
	b = appendEntries(b, entries)
	b = le.AppendUint32(b, next)
	return string(b) + tail
}

func appendEntries(b []byte, entries []entry) []byte {
	le := binary.LittleEndian
	for _, e := range entries {
		b = le.AppendUint16(b, e.tag)
		b = le.AppendUint16(b, e.typ)
		b = le.AppendUint32(b, e.count)
		b = le.AppendUint32(b, e.value)
	}
	return b
}

// ifd is a directory to put into a tail.
func ifd(entries ...entry) string {
	b := binary.LittleEndian.AppendUint16(nil, uint16(len(entries)))
	return string(binary.LittleEndian.AppendUint32(appendEntries(b, entries), 0))
}

// withDate is a block with orientation 6 and these texts for time and offset.
func withDate(date, offset string) string {
	const dir = 8 + 2 + 2*12 + 4
	text := uint32(dir + 2 + 2*12 + 4)
	return tiff([]entry{turned, {0x8769, 4, 1, dir}}, 0,
		ifd(entry{0x9003, 2, uint32(len(date)), text}, entry{0x9011, 2, uint32(len(offset)), text + uint32(len(date))})+date+offset)
}

// gps is a block with orientation 6, a position, an owner and a serial number.
func gps() string {
	const dir = 8 + 2 + 4*12 + 4
	const text = dir + 2 + 3*12 + 4
	return tiff([]entry{turned, {0x8825, 4, 1, dir}, {0x013b, 2, 10, text + 24}, {0xa431, 2, 8, text + 34}}, 0,
		ifd(entry{1, 2, 2, 'N'}, entry{2, 5, 3, text}, entry{3, 2, 2, 'E'})+
			"\x34\x00\x00\x00\x01\x00\x00\x00\x05\x00\x00\x00\x01\x00\x00\x00\x2c\x00\x00\x00\x01\x00\x00\x00"+"A CANARY.\x00"+"SNCANARY")
}

// profile is the smallest block that passes for a colour profile, n bytes long.
func profile(n int) []byte {
	b := bytes.Repeat([]byte{7}, n)
	binary.BigEndian.PutUint32(b, uint32(n))
	copy(b[36:], "acsp")
	return b
}

// deflated is b in the compression of PNG.
func deflated(b []byte) string {
	var out bytes.Buffer
	z := zlib.NewWriter(&out)
	if _, err := z.Write(b); err != nil {
		panic(err) // a buffer takes everything
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return out.String()
}

// pngChunk is a PNG chunk with the right check sum.
func pngChunk(name, data string) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	b = append(append(b, name...), data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// pngAfterHeader puts parts after a PNG's header chunk.
func pngAfterHeader(file []byte, parts ...[]byte) []byte {
	const header = 8 + 12 + 13
	return slices.Concat(file[:header], slices.Concat(parts...), file[header:])
}

// webpOf is a WebP file of these chunks.
func webpOf(chunks ...[]byte) []byte {
	body := slices.Concat(chunks...)
	b := binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(4+len(body)))
	return append(append(b, "WEBP"...), body...)
}

func riffChunk(name, data string) []byte {
	b := append([]byte(name), binary.LittleEndian.AppendUint32(nil, uint32(len(data)))...)
	b = append(b, data...)
	if len(data)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// webpPixels is the pixel chunk of a simple WebP file.
func webpPixels(file []byte) []byte { return file[12:] }

// extended is a VP8X chunk.
func extended(flags byte, w, h int) []byte {
	return riffChunk("VP8X", string([]byte{flags, 0, 0, 0,
		byte(w - 1), byte((w - 1) >> 8), byte((w - 1) >> 16), byte(h - 1), byte((h - 1) >> 8), byte((h - 1) >> 16)}))
}

// progressive is a 16 by 16 grey JPEG in three scans: its mean, then twice
// nothing new for the other coefficients. Go's encoder writes baseline only.
func progressive() []byte {
	quant := "\x00" + string(bytes.Repeat([]byte{1}, 64))
	dc := "\x00" + "\x01" + string(make([]byte, 15)) + "\x00" // one code: no difference
	ac := "\x10" + "\x01" + string(make([]byte, 15)) + "\x00" // one code: end of block
	frame := "\x08\x00\x10\x00\x10\x01\x01\x11\x00"           // 16 by 16, one component
	scan := func(from, to byte) []byte {
		data := "\x0f" // four blocks, a zero bit each, filled up with ones
		return append(seg(0xda, string([]byte{1, 1, 0, from, to, 0})), data...)
	}
	return slices.Concat([]byte{0xff, 0xd8}, seg(0xdb, quant), seg(0xc2, frame), seg(0xc4, dc), seg(0xc4, ac),
		scan(0, 0), scan(1, 5), scan(6, 63), []byte{0xff, 0xd9})
}

func TestBuildersMakeRealPictures(t *testing.T) {
	img, err := jpeg.Decode(bytes.NewReader(progressive()))
	require.NoError(t, err)
	require.Equal(t, 16, img.Bounds().Dx())
	_, err = jpeg.Decode(bytes.NewReader(after(phototest.JPEG(8, 8, 1), seg(0xe1, exifHead+gps()))))
	require.NoError(t, err)
}
