package exif

import (
	"bytes"
	"encoding/binary"
)

// Bits of a WebP file's extended header.
const (
	webpAnimated = 1 << 1
	webpEXIF     = 1 << 3
	webpAlpha    = 1 << 4
	webpICC      = 1 << 5
)

// webpMemory is about how many bytes a pixel costs a decoder in the worst case,
// which is a lossless picture with a palette.
const webpMemory = 8

// webpParts are the chunks of a WebP file that are kept; nil means absent.
type webpParts struct {
	header, profile, alpha, exif []byte
	pixels                       []byte
	kind                         string // name of the pixel chunk, "VP8 " or "VP8L"
}

func stripWebP(b []byte) (Stripped, error) {
	size := uint64(binary.LittleEndian.Uint32(b[4:]))
	if size < 4 || size > uint64(len(b)-8) {
		return Stripped{}, damaged("webp: %d bytes promised, %d there", size, len(b)-8)
	}
	var p webpParts
	for rest := b[12 : 8+size]; len(rest) > 0; {
		name, data, next, err := webpChunk(rest)
		if err != nil {
			return Stripped{}, err
		}
		if err := p.take(name, data); err != nil {
			return Stripped{}, err
		}
		rest = next
	}
	return p.assemble()
}

// webpChunk takes the first chunk off b. Chunks start at even offsets; a missing
// last pad byte is forgiven.
func webpChunk(b []byte) (name string, data, rest []byte, err error) {
	if len(b) < 8 {
		return "", nil, nil, damaged("webp: %d stray bytes", len(b))
	}
	n := uint64(binary.LittleEndian.Uint32(b[4:]))
	if n > uint64(len(b)-8) {
		return "", nil, nil, damaged("webp: chunk of %d bytes is cut", n)
	}
	return string(b[:4]), b[8 : 8+n], b[min(uint64(len(b)), 8+n+n&1):], nil
}

// take sorts one chunk. The first of a kind counts; a second picture is damage.
func (p *webpParts) take(name string, data []byte) error {
	keepFirst := func(at *[]byte) {
		if *at == nil {
			*at = data
		}
	}
	switch name {
	case "VP8X":
		if p.header != nil || p.pixels != nil || len(data) != 10 {
			return damaged("webp: extended header")
		}
		if data[0]&webpAnimated != 0 {
			return ErrAnimated
		}
		p.header = data
	case "ANIM", "ANMF":
		return ErrAnimated
	case "VP8 ", "VP8L":
		if p.pixels != nil {
			return damaged("webp: two pictures")
		}
		p.pixels, p.kind = data, name
	case "ICCP":
		keepFirst(&p.profile)
	case "ALPH":
		keepFirst(&p.alpha)
	case "EXIF":
		keepFirst(&p.exif)
	}
	return nil
}

// assemble writes the file anew with the chunks in the order of the format's
// description. Profile, transparency and tags belong to files with an extended
// header only; elsewhere they are dropped.
func (p *webpParts) assemble() (Stripped, error) {
	if p.pixels == nil {
		return Stripped{}, damaged("webp: no pixels")
	}
	frame, err := p.frame()
	if err != nil {
		return Stripped{}, err
	}
	s := Stripped{Type: WebP, Tags: Tags{Orientation: 1}, Frame: frame}
	out := append(make([]byte, 0, len(p.pixels)+len(p.alpha)+len(p.profile)+256), "RIFF\x00\x00\x00\x00WEBP"...)
	if p.header != nil {
		out = p.appendExtended(out, &s)
	}
	out = appendRIFF(out, p.kind, p.pixels)
	if !s.Tags.plain() {
		out = appendRIFF(out, "EXIF", writeTags(s.Tags))
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
	s.Kept = out
	return s, nil
}

// appendExtended appends the extended header with its flags worked out anew, and
// the chunks that go between it and the pixels.
func (p *webpParts) appendExtended(out []byte, s *Stripped) []byte {
	flags := p.header[0] & webpAlpha
	if validProfile(p.profile) {
		flags |= webpICC
		s.Profile = bytes.Clone(p.profile)
	}
	if p.exif != nil {
		s.Tags = readTags(bytes.TrimPrefix(p.exif, []byte(exifName)))
	}
	if !s.Tags.plain() {
		flags |= webpEXIF
	}
	header := append([]byte{flags, 0, 0, 0}, p.header[4:]...)
	out = appendRIFF(out, "VP8X", header)
	if s.Profile != nil {
		out = appendRIFF(out, "ICCP", s.Profile)
	}
	if p.alpha != nil && p.kind == "VP8 " {
		out = appendRIFF(out, "ALPH", p.alpha)
	}
	return out
}

// frame reads the size of the picture from its own header: 14 bits a side in
// both kinds. An extended header that says otherwise is damage, so nobody can
// hide a huge picture behind a small promise.
func (p *webpParts) frame() (Frame, error) {
	var w, h int
	switch d := p.pixels; {
	case p.kind == "VP8L" && len(d) >= 5 && d[0] == 0x2f:
		bits := binary.LittleEndian.Uint32(d[1:])
		w, h = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
	case p.kind == "VP8 " && len(d) >= 10 && string(d[3:6]) == "\x9d\x01\x2a":
		w, h = int(binary.LittleEndian.Uint16(d[6:])&0x3fff), int(binary.LittleEndian.Uint16(d[8:])&0x3fff)
	default:
		return Frame{}, damaged("webp: pixel header")
	}
	if w == 0 || h == 0 {
		return Frame{}, damaged("webp: frame of %d by %d", w, h)
	}
	if p.header != nil && (uint24(p.header[4:])+1 != w || uint24(p.header[7:])+1 != h) {
		return Frame{}, damaged("webp: the canvas is not the picture")
	}
	return Frame{Width: w, Height: h, Memory: int64(w) * int64(h) * webpMemory}, nil
}

func uint24(b []byte) int { return int(b[0]) | int(b[1])<<8 | int(b[2])<<16 }

func appendRIFF(b []byte, name string, data []byte) []byte {
	b = append(b, name...)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(data)))
	b = append(b, data...)
	if len(data)%2 == 1 {
		b = append(b, 0)
	}
	return b
}
