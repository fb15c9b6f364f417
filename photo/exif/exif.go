// Package exif takes everything out of a picture file that is not needed to show
// it, and reads the two facts that are: which way up it was taken, and when.
//
// A picture file is made of parts: JPEG calls them segments, PNG and WebP call
// them chunks. Some carry pixels and the tables to decode them. The rest is
// metadata: position, serial numbers, names, thumbnails of what a crop removed,
// whole second pictures. Strip keeps the parts on a short list, byte for byte,
// and drops all others; nothing is decoded, so the pixels stay identical. The
// orientation and the time are parsed, checked against their ranges and written
// afresh into a block of our own, never copied.
//
// Stripping a stripped file changes nothing, byte for byte. Phones strip before
// they hash and the server strips again, so both must arrive at the same bytes.
//
// A colour profile is kept, because without it wide-gamut pictures change colour.
// A profile describes a kind of screen or camera; its text is the maker's.
//
// The package is for phones as well: it uses no operating system, no clock and no
// image decoder.
package exif

// Type is a kind of picture file that Strip accepts.
type Type string

// The accepted types. The text is stored and sent: never change it.
const (
	JPEG Type = "jpeg"
	PNG  Type = "png"
	WebP Type = "webp"
)

// MIME is the media type to serve bytes of this type with.
func (t Type) MIME() string { return "image/" + string(t) }

// Tags are the two facts that survive stripping.
type Tags struct {
	// Orientation is the EXIF orientation, 1 (upright) to 8. Strip gives 1 when
	// the file says nothing or nonsense.
	Orientation uint8
	// Taken is when the picture was taken, "" when unknown.
	Taken Taken
}

// plain reports whether the tags say nothing worth writing.
func (t Tags) plain() bool { return t.Orientation == 1 && t.Taken == "" }

// Frame is what the file's own header promises about its pixels.
type Frame struct {
	Width, Height int // pixels, as stored, before orientation
	// Memory is about how many bytes a decoder needs for all pixels at once.
	Memory int64
}

// Stripped is the outcome of Strip.
type Stripped struct {
	Kept    []byte // the bytes to keep, hash and send
	Type    Type
	Tags    Tags
	Frame   Frame
	Profile []byte // raw ICC profile of a JPEG or WebP, nil when there is none
}

// Strip gives b without its metadata. It returns a fault: ErrNotImage,
// ErrTypeUnsupported, ErrAnimated, or ErrDamaged when the parts do not fit
// together. It does not decode, so damage inside the pixel data goes unnoticed.
// The result shares no memory with b and is at most about 200 bytes longer.
func Strip(b []byte) (Stripped, error) {
	t, err := Sniff(b)
	if err != nil {
		return Stripped{}, err
	}
	switch t {
	case JPEG:
		return stripJPEG(b)
	case PNG:
		return stripPNG(b)
	default:
		return stripWebP(b)
	}
}
