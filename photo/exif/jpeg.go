package exif

import "bytes"

// JPEG markers, by the names of ITU-T T.81, table B.1.
const (
	markerSOF0 = 0xc0 // baseline
	markerSOF2 = 0xc2 // progressive
	markerDHT  = 0xc4
	markerRST0 = 0xd0
	markerRST7 = 0xd7
	markerSOI  = 0xd8
	markerEOI  = 0xd9
	markerSOS  = 0xda
	markerDQT  = 0xdb
	markerDRI  = 0xdd
	markerAPP0 = 0xe0
	markerAPPF = 0xef
	markerCOM  = 0xfe
)

// scansMax bounds the scans of one picture. Progressive files have about ten. A
// scan of forty bytes can make a decoder walk over all pixels, so a file of a few
// megabytes could otherwise keep it busy for an hour.
const scansMax = 50

const (
	exifName  = "Exif\x00\x00"
	jfifName  = "JFIF\x00"
	adobeName = "Adobe"
)

// jpegParts is what a JPEG is taken apart into.
type jpegParts struct {
	b   []byte
	pos int

	tags  *Tags // from the first EXIF segment before the pixels
	noYCC bool  // the components are ink, or red, green and blue
	icc   iccParts
	jfif  bool
	adobe []byte // the colour transform, one byte, nil without an Adobe segment
	frame *Frame
	scans int
	body  []byte // tables, frame and scans, verbatim and in order
}

func stripJPEG(b []byte) (Stripped, error) {
	p := jpegParts{b: b, pos: 2, body: make([]byte, 0, len(b))}
	for {
		marker, err := p.marker()
		if err != nil {
			return Stripped{}, err
		}
		if marker == markerEOI {
			return p.assemble()
		}
		if marker >= markerRST0 && marker <= markerRST7 {
			continue // a stray one after a scan; decoders pass over it
		}
		payload, err := p.payload(marker)
		if err != nil {
			return Stripped{}, err
		}
		if err := p.take(marker, payload); err != nil {
			return Stripped{}, err
		}
	}
}

// marker finds the next marker. Fill bytes and stray bytes between segments are
// passed over and so dropped, as decoders do.
func (p *jpegParts) marker() (byte, error) {
	for {
		i := bytes.IndexByte(p.b[p.pos:], 0xff)
		if i < 0 {
			return 0, damaged("jpeg: no end of image")
		}
		p.pos += i
		for p.pos < len(p.b) && p.b[p.pos] == 0xff {
			p.pos++
		}
		if p.pos == len(p.b) {
			return 0, damaged("jpeg: no end of image")
		}
		p.pos++
		if m := p.b[p.pos-1]; m != 0 {
			return m, nil
		}
	}
}

// payload is the content of the segment that starts after its marker.
func (p *jpegParts) payload(marker byte) ([]byte, error) {
	rest := p.b[p.pos:]
	if len(rest) < 2 {
		return nil, damaged("jpeg: segment %x is cut", marker)
	}
	n := int(rest[0])<<8 | int(rest[1])
	if n < 2 || n > len(rest) {
		return nil, damaged("jpeg: segment %x has length %d of %d", marker, n, len(rest))
	}
	p.pos += n
	return rest[2:n], nil
}

// take sorts one segment into what is kept, what is read and what is dropped.
func (p *jpegParts) take(marker byte, payload []byte) error {
	switch {
	case marker >= markerAPP0 && marker <= markerAPPF:
		p.takeApp(marker, payload)
	case marker == markerCOM:
	case marker == markerDQT, marker == markerDHT, marker == markerDRI:
		p.body = appendSegment(p.body, marker, payload)
	case marker >= markerSOF0 && marker <= markerSOF2:
		return p.takeFrame(marker, payload)
	case marker == markerSOS:
		return p.takeScan(payload)
	case marker == markerSOI:
		return damaged("jpeg: a second start of image")
	default:
		return unsupported("jpeg: marker %x", marker)
	}
	return nil
}

// takeApp reads the application segments that matter and drops them all; those
// that are needed are written afresh.
func (p *jpegParts) takeApp(marker byte, payload []byte) {
	switch {
	case marker == markerAPP0 && starts(payload, jfifName):
		p.jfif = true
	case marker == markerAPP0+14 && starts(payload, adobeName) && len(payload) >= 12:
		p.adobe = payload[11:12]
	case p.scans > 0: // what follows the first pixels describes something else
	case marker == markerAPP0+1 && starts(payload, exifName) && p.tags == nil:
		tags := readTags(payload[len(exifName):])
		p.tags = &tags
	case marker == markerAPP0+2:
		p.icc.add(payload)
	}
}

// takeFrame keeps the frame header and works out the memory a decoder needs: one
// byte a sample, and four more for its coefficient when the frame is progressive.
func (p *jpegParts) takeFrame(marker byte, payload []byte) error {
	if p.frame != nil {
		return damaged("jpeg: two frames")
	}
	if len(payload) < 6 || len(payload) != 6+3*int(payload[5]) {
		return damaged("jpeg: frame header of %d bytes", len(payload))
	}
	f := Frame{Height: int(payload[1])<<8 | int(payload[2]), Width: int(payload[3])<<8 | int(payload[4])}
	var hMax, vMax, samples int64
	for c := payload[6:]; len(c) > 0; c = c[3:] {
		h, v := int64(c[1]>>4), int64(c[1]&15)
		hMax, vMax, samples = max(hMax, h), max(vMax, v), samples+h*v
	}
	if f.Width == 0 || f.Height == 0 || hMax*vMax == 0 {
		return damaged("jpeg: frame of %d by %d", f.Width, f.Height)
	}
	p.noYCC = len(payload) == 6+3*4 || len(payload) == 6+3*3 && payload[6] == 'R' && payload[9] == 'G' && payload[12] == 'B'
	each := int64(1)
	if marker == markerSOF2 {
		each = 5
	}
	f.Memory = int64(f.Width) * int64(f.Height) * samples * each / (hMax * vMax)
	p.frame = &f
	p.body = appendSegment(p.body, marker, payload)
	return nil
}

// takeScan keeps a scan's header and its data up to the next marker. Stuffed
// bytes and restart markers are part of the data.
func (p *jpegParts) takeScan(header []byte) error {
	if p.frame == nil {
		return damaged("jpeg: scan before frame")
	}
	if p.scans++; p.scans > scansMax {
		return damaged("jpeg: more than %d scans", scansMax)
	}
	p.body = appendSegment(p.body, markerSOS, header)
	start := p.pos
	for {
		i := bytes.IndexByte(p.b[p.pos:], 0xff)
		if i < 0 {
			return damaged("jpeg: scan without end")
		}
		p.pos += i
		next := p.pos + 1
		for next < len(p.b) && p.b[next] == 0xff {
			next++
		}
		if next == len(p.b) {
			return damaged("jpeg: scan without end")
		}
		if m := p.b[next]; m != 0 && (m < markerRST0 || m > markerRST7) {
			p.body = append(p.body, p.b[start:p.pos]...)
			return nil
		}
		p.pos = next + 1
	}
}

// assemble writes the file anew: the fresh block first, the segments that decide
// about colours in one fixed form, then tables, frame and scans as they were.
func (p *jpegParts) assemble() (Stripped, error) {
	if p.scans == 0 {
		return Stripped{}, damaged("jpeg: no pixels")
	}
	s := Stripped{Type: JPEG, Tags: Tags{Orientation: 1}, Frame: *p.frame, Profile: p.icc.profile()}
	if p.noYCC || p.adobe != nil && p.adobe[0] == 0 { // decoders convert it, into four bytes a pixel
		s.Frame.Memory += 4 * int64(s.Frame.Width) * int64(s.Frame.Height)
	}
	if p.tags != nil {
		s.Tags = *p.tags
	}
	out := append(make([]byte, 0, len(p.body)+len(s.Profile)+512), 0xff, markerSOI)
	if !s.Tags.plain() {
		out = appendSegment(out, markerAPP0+1, []byte(exifName), writeTags(s.Tags))
	}
	if p.jfif { // version 1.02, square pixels, no thumbnail
		out = appendSegment(out, markerAPP0, []byte(jfifName), []byte{1, 2, 0, 0, 1, 0, 1, 0, 0})
	}
	if p.adobe != nil {
		out = appendSegment(out, markerAPP0+14, []byte(adobeName), []byte{0, 100, 0, 0, 0, 0}, p.adobe)
	}
	out = appendProfile(out, s.Profile)
	s.Kept = append(append(out, p.body...), 0xff, markerEOI)
	return s, nil
}

// appendSegment appends a marker, the length, and the payload's pieces.
func appendSegment(b []byte, marker byte, payload ...[]byte) []byte {
	n := 2
	for _, piece := range payload {
		n += len(piece)
	}
	b = append(b, 0xff, marker, byte(n>>8), byte(n))
	for _, piece := range payload {
		b = append(b, piece...)
	}
	return b
}
