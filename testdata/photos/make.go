//go:build ignore

// Command make makes a test photo from a larger picture: at most so many pixels
// long, without metadata. With -position it stores the picture turned a quarter
// and writes an EXIF block and an XMP packet with an invented position.
//
//	go run testdata/photos/make.go [-position] [-long 1024] FROM TO
package main

import (
	"encoding/binary"
	"flag"
	"fmt"
	"image"
	_ "image/jpeg"
	"os"
	"slices"

	"leafturn/photo/scale"
)

func main() {
	position := flag.Bool("position", false, "turn the picture and add an invented position")
	long := flag.Int("long", 1024, "longer side in pixels")
	flag.Parse()
	if err := run(flag.Arg(0), flag.Arg(1), *long, *position); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(from, to string, long int, position bool) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	if err != nil {
		return fmt.Errorf("decode %s: %w", from, err)
	}
	turn := uint8(1)
	if position {
		turn = 8 // the opposite of orientation 6, so that a viewer shows it upright
	}
	file, err := scale.JPEG(scale.Fit(img, long, turn))
	if err != nil {
		return err
	}
	if position {
		file = slices.Concat(file[:2], segment("Exif\x00\x00"+string(block())), segment(xmp), file[2:])
	}
	return os.WriteFile(to, file, 0o644)
}

// xmp says the invented position a second time, as phones do.
const xmp = "http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta xmlns:x='adobe:ns:meta/'>" +
	"<rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description xmlns:exif='http://ns.adobe.com/exif/1.0/' " +
	"exif:GPSLatitude='0,0.006N' exif:GPSLongitude='0,0.006W'/></rdf:RDF></x:xmpmeta>"

func segment(payload string) []byte {
	n := len(payload) + 2
	return append([]byte{0xff, 0xe1, byte(n >> 8), byte(n)}, payload...)
}

// tag is one entry of a directory. A value longer than four bytes is put after it.
type tag struct {
	id, typ uint16
	count   uint32
	value   string
}

// block is an EXIF block: orientation 6, an invented camera and time, and a
// position in the open ocean, 0.0001 degrees north and west of nothing.
func block() []byte {
	const short, long, text, ratio = 3, 4, 2, 5
	angle := number(0) + number(1) + number(0) + number(1) + number(36) + number(100) // 0° 0' 0.36"
	main := []tag{{0x010f, text, 9, "Invented\x00"}, {0x0112, short, 1, "\x00\x06\x00\x00"}, {0x8769, long, 1, ""}, {0x8825, long, 1, ""}}
	times := []tag{{0x9003, text, 20, "2026:03:01 18:22:31\x00"}, {0x9011, text, 7, "+00:00\x00"}, {0xa431, text, 9, "INVENTED\x00"}}
	place := []tag{{1, text, 2, "N\x00\x00\x00"}, {2, ratio, 3, angle}, {3, text, 2, "W\x00\x00\x00"}, {4, ratio, 3, angle}}

	const start = 8
	timesAt := start + len(directory(main, start))
	main[2].value = number(uint32(timesAt))
	placeAt := timesAt + len(directory(times, timesAt))
	main[3].value = number(uint32(placeAt))
	return slices.Concat([]byte("MM\x00*\x00\x00\x00\x08"), directory(main, start), directory(times, timesAt), directory(place, placeAt))
}

func number(n uint32) string { return string(binary.BigEndian.AppendUint32(nil, n)) }

// directory writes the entries at an offset, and their long values after them.
func directory(tags []tag, at int) []byte {
	be := binary.BigEndian
	b := be.AppendUint16(nil, uint16(len(tags)))
	after := at + 2 + 12*len(tags) + 4
	var values []byte
	for _, t := range tags {
		b = be.AppendUint16(b, t.id)
		b = be.AppendUint16(b, t.typ)
		b = be.AppendUint32(b, t.count)
		if len(t.value) > 4 {
			b = be.AppendUint32(b, uint32(after+len(values)))
			values = append(values, t.value...)
			continue
		}
		b = append(b, (t.value + "\x00\x00\x00\x00")[:4]...)
	}
	return append(be.AppendUint32(b, 0), values...)
}
