package exif

import "encoding/binary"

const (
	iccName = "ICC_PROFILE\x00"
	// profileMax bounds a colour profile. Cameras embed about 0.5 to 4 kB; the
	// large ones, for printing, stay under this.
	profileMax = 1 << 20
	// iccPart is the most profile bytes that fit one JPEG segment, after the
	// segment's length, the name, the part's number and the number of parts.
	iccPart = 65535 - 2 - len(iccName) - 2
)

// validProfile reports whether b is one whole ICC profile: its size field agrees
// and its signature is in place (ICC.1, section 7.2). Anything else that calls
// itself a profile may hide other data and is dropped.
func validProfile(b []byte) bool {
	return len(b) >= 128 && len(b) <= profileMax && string(b[36:40]) == "acsp" &&
		uint64(binary.BigEndian.Uint32(b)) == uint64(len(b))
}

// iccParts collects the pieces of a profile that is spread over JPEG segments.
type iccParts struct {
	parts [256][]byte
	total byte
	bad   bool
}

// add takes the payload of an APP2 segment. Payloads with other names, such as
// those that announce second pictures, are ignored.
func (p *iccParts) add(payload []byte) {
	if !starts(payload, iccName) || len(payload) < len(iccName)+2 {
		return
	}
	n, total := payload[len(iccName)], payload[len(iccName)+1]
	if n == 0 || n > total || p.parts[n] != nil || p.total != 0 && p.total != total {
		p.bad = true
		return
	}
	p.total, p.parts[n] = total, payload[len(iccName)+2:]
}

// profile is the whole profile, or nil when it is missing or not trustworthy.
func (p *iccParts) profile() []byte {
	if p.bad || p.total == 0 {
		return nil
	}
	var whole []byte
	for _, part := range p.parts[1 : int(p.total)+1] {
		whole = append(whole, part...)
	}
	if !validProfile(whole) {
		return nil
	}
	return whole
}

// appendProfile appends a profile as JPEG segments, always split the same way.
func appendProfile(b, profile []byte) []byte {
	total := (len(profile) + iccPart - 1) / iccPart
	for n := 1; len(profile) > 0; n++ {
		part := profile[:min(len(profile), iccPart)]
		profile = profile[len(part):]
		b = appendSegment(b, markerAPP0+2, []byte(iccName), []byte{byte(n), byte(total)}, part)
	}
	return b
}

// WithProfile gives a JPEG that has no profile a copy of this one, so that a
// smaller copy of a picture keeps its colours. It returns jpeg itself when the
// profile is empty or is no profile.
func WithProfile(jpeg, profile []byte) []byte {
	if !validProfile(profile) || !starts(jpeg, jpegStart) {
		return jpeg
	}
	b := append(make([]byte, 0, len(jpeg)+len(profile)+64), jpeg[:2]...)
	return append(appendProfile(b, profile), jpeg[2:]...)
}
