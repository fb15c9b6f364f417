package exif

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"io"
	"math"
)

// pngKept are the chunks that show the picture and its colours, with the most bytes
// they may have (PNG, third edition, chapter 11). All others are dropped, also ones
// that do not exist yet.
var pngKept = map[string]int{
	"IHDR": 13, "PLTE": 3 * 256, "tRNS": 256, "IDAT": math.MaxInt32, "IEND": 0,
	"gAMA": 4, "cHRM": 32, "sRGB": 1, "sBIT": 4, "cICP": 4, "iCCP": profileMax,
}

// pngOnce are those that say something about colours. A second one says nothing, and
// one that is too long says something else.
var pngOnce = map[string]bool{"gAMA": true, "cHRM": true, "sRGB": true, "sBIT": true, "cICP": true, "iCCP": true}

func stripPNG(b []byte) (Stripped, error) {
	s := Stripped{Type: PNG, Tags: Tags{Orientation: 1}}
	var head, body []byte
	seen := map[string]bool{}
	for rest := b[len(pngStart):]; ; {
		name, data, next, err := pngChunk(rest)
		if err != nil {
			return Stripped{}, err
		}
		rest = next
		switch {
		case head == nil:
			if s.Frame, err = pngFrame(name, data); err != nil {
				return Stripped{}, err
			}
			head = appendChunk(nil, name, data)
		case name == "acTL" || name == "fcTL" || name == "fdAT":
			return Stripped{}, ErrAnimated
		case name == "eXIf" && !seen[name]:
			s.Tags = readTags(bytes.TrimPrefix(data, []byte(exifName)))
		case name == "IHDR":
			return Stripped{}, damaged("png: two headers")
		case pngOnce[name]:
			if seen[name] || len(data) > pngKept[name] {
				break
			}
			if name == "iCCP" {
				data, s.Profile = pngProfile(data)
			}
			if data != nil {
				body = appendChunk(body, name, data)
			}
		case keeps(name):
			if len(data) > pngKept[name] {
				return Stripped{}, damaged("png: %d bytes of %q", len(data), name)
			}
			body = appendChunk(body, name, data)
		case name[0]&0x20 == 0: // an upper-case initial: no decoder may ignore it
			return Stripped{}, unsupported("png: chunk %q", name)
		}
		if name == "IEND" {
			break
		}
		seen[name] = true
	}
	if !seen["IDAT"] {
		return Stripped{}, damaged("png: no pixels")
	}
	out := append(make([]byte, 0, len(head)+len(body)+256), pngStart...)
	out = append(out, head...)
	if !s.Tags.plain() {
		out = appendChunk(out, "eXIf", writeTags(s.Tags))
	}
	s.Kept = append(out, body...)
	return s, nil
}

// pngChunk takes the first chunk off b. The check sum of a chunk that is kept
// must be right, because it is written anew.
func pngChunk(b []byte) (name string, data, rest []byte, err error) {
	if len(b) < 12 {
		return "", nil, nil, damaged("png: no end of image")
	}
	n := uint64(binary.BigEndian.Uint32(b))
	if n > uint64(len(b)-12) {
		return "", nil, nil, damaged("png: chunk of %d bytes is cut", n)
	}
	name = string(b[4:8])
	if keeps(name) && crc32.ChecksumIEEE(b[4:8+n]) != binary.BigEndian.Uint32(b[8+n:]) {
		return "", nil, nil, damaged("png: check sum of %q", name)
	}
	return name, b[8 : 8+n], b[12+n:], nil
}

// pngFrame reads the header. The memory allows for a decoder's second buffer when
// the picture is interlaced.
func pngFrame(name string, data []byte) (Frame, error) {
	if name != "IHDR" || len(data) != 13 {
		return Frame{}, damaged("png: no header")
	}
	w, h := binary.BigEndian.Uint32(data), binary.BigEndian.Uint32(data[4:])
	if w == 0 || h == 0 || w > math.MaxInt32 || h > math.MaxInt32 {
		return Frame{}, damaged("png: frame of %d by %d", w, h)
	}
	each := 6.0 // four bytes a pixel, and half as much again
	if data[8] == 16 {
		each = 12
	}
	memory := min(float64(w)*float64(h)*each, math.MaxInt64/2)
	return Frame{Width: int(w), Height: int(h), Memory: int64(memory)}, nil
}

func keeps(name string) bool {
	_, ok := pngKept[name]
	return ok
}

// pngProfile reads an iCCP chunk: a name, which is free text, a zero, the method, and
// the compressed profile. It gives the chunk without the name, and the profile itself;
// nothing when that is none. The compressed bytes are kept as they are, up to their
// end: compressed anew they might be others on the server than on the phone.
func pngProfile(data []byte) (chunk, profile []byte) {
	_, data, _ = bytes.Cut(data, []byte{0})
	if !starts(data, "\x00") { // the only method there is
		return nil, nil
	}
	rest := bytes.NewReader(data[1:])
	z, err := zlib.NewReader(rest)
	if err != nil {
		return nil, nil
	}
	profile, err = io.ReadAll(io.LimitReader(z, profileMax+1))
	if err != nil || !validProfile(profile) {
		return nil, nil
	}
	return append([]byte("icc\x00"), data[:len(data)-rest.Len()]...), profile
}

func appendChunk(b []byte, name string, data []byte) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(len(data)))
	start := len(b)
	b = append(append(b, name...), data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[start:]))
}
