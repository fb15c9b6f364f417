package phototest

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"

	"leafturn/model"
	"leafturn/photo"
)

// Household gives a household id that is the same for the same n.
func Household(n byte) model.HouseholdID {
	return model.HouseholdID{0xfe, 15: n}
}

// Picture draws something with soft shapes, edges and grain, the same for the
// same arguments.
func Picture(w, h int, seed uint64) *image.NRGBA {
	r := rand.New(rand.NewPCG(seed, 1))
	fx, fy := 0.5+r.Float64(), 0.5+r.Float64()
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			u, v := float64(x)/float64(max(w, h)), float64(y)/float64(max(w, h))
			green := 120 + 70*math.Sin(20*fx*u)*math.Cos(17*fy*v)
			if math.Hypot(u-0.4, v-0.3) < 0.12 {
				green -= 60
			}
			grain := r.NormFloat64() * 4
			c := func(base float64) byte { return byte(min(max(base+grain, 0), 255)) }
			img.SetNRGBA(x, y, color.NRGBA{c(90 + 90*u), c(green), c(40 + 60*v), 255})
		}
	}
	return img
}

// JPEG is Picture as a JPEG file without metadata.
func JPEG(w, h int, seed uint64) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, Picture(w, h, seed), &jpeg.Options{Quality: 90}); err != nil {
		panic(err) // sides over 65,535: the test is wrong
	}
	return b.Bytes()
}

// PNG is Picture as a PNG file without metadata.
func PNG(w, h int, seed uint64) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, Picture(w, h, seed)); err != nil {
		panic(err) // no side: the test is wrong
	}
	return b.Bytes()
}

// WebP is a lossless WebP file of one colour, in about twenty bytes whatever its
// size: every one of its five prefix codes has a single symbol, which takes no bits.
func WebP(w, h int, c color.NRGBA) []byte {
	var bits uint64
	var n int
	var data []byte
	put := func(v uint64, width int) {
		bits |= v << n
		for n += width; n >= 8; n -= 8 {
			data = append(data, byte(bits))
			bits >>= 8
		}
	}
	put(0x2f, 8)
	put(uint64(w-1), 14)
	put(uint64(h-1), 14)
	put(0, 1+3)   // no alpha, version 0
	put(0, 1+1+1) // no transforms, no colour cache, one group of codes
	for _, symbol := range []byte{c.G, c.R, c.B, c.A} {
		put(1, 1) // a simple code
		put(0, 1) // of one symbol
		put(1, 1) // of eight bits
		put(uint64(symbol), 8)
	}
	put(0b0001, 4) // distances: a simple code, one symbol, of one bit, 0
	put(0, 7)      // fill the last byte
	return riff(data)
}

func riff(vp8l []byte) []byte {
	chunk := append([]byte("VP8L"), binary.LittleEndian.AppendUint32(nil, uint32(len(vp8l)))...)
	chunk = append(chunk, vp8l...)
	if len(vp8l)%2 == 1 {
		chunk = append(chunk, 0)
	}
	file := append([]byte("RIFF"), binary.LittleEndian.AppendUint32(nil, uint32(4+len(chunk)))...)
	return append(append(file, "WEBP"...), chunk...)
}

// Photo is a photo as Receive would hand it to a store, with copies that are not
// real pictures: stores do not look.
func Photo(seed uint64) photo.Photo {
	file := JPEG(24, 16, seed)
	sum := photo.SumOf(file)
	info := photo.Info{
		Sum: sum, Kept: sum, Type: "jpeg", Width: 24, Height: 16, Bytes: int64(len(file)),
		Orientation: 6, Taken: "2026-03-01T18:22:31+01:00",
	}
	copies := map[photo.Size][]byte{photo.Small: []byte("small copy of " + sum.String())}
	return photo.Photo{Info: info, Kept: file, Derivatives: copies}
}
