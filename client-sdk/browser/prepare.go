//go:build js && wasm

package browser

import (
	"errors"
	"image"

	"leafturn/photo/exif"
)

// What a phone keeps of a photo: enough to see speckling that is a pixel wide at this
// size, and no more than a slow network can carry. Quality is the browser's scale.
const (
	KeptEdge    = 2048
	KeptQuality = 0.85
	LookEdge    = 640 // the size at which a photo is judged and measured
)

// What is kept of a photo at its full size: as much as a server takes.
const (
	fullBytes  = 20 << 20
	fullPixels = 50_000_000
)

// Prepared is a photo that was made fit for keeping.
type Prepared struct {
	Data []byte       // without position and other private metadata, upright
	Look *image.NRGBA // the same at LookEdge; nil where the browser cannot draw
}

// Prepare takes a camera's file, decides by its content what it is, turns it upright,
// makes it small and keeps the time at which it was taken. A browser that knows a
// kind of file which we do not, such as HEIC, turns it into one that we do. If full is
// set, a photo of a kind that we know stays as the camera made it, but for its private
// metadata, unless no server would take it.
func Prepare(data []byte, full bool) (Prepared, error) {
	plain, refused := exif.Strip(data)
	if refused != nil && !(errors.Is(refused, exif.ErrTypeUnsupported) && isHEIF(data)) {
		return Prepared{}, refused
	}
	pic, err := DecodePicture(data)
	switch {
	case errors.Is(err, ErrNoDecoder) && refused == nil:
		return Prepared{Data: plain.Kept}, nil
	case err != nil && refused != nil:
		return Prepared{}, refused
	case err != nil:
		return Prepared{}, err
	}
	defer pic.Close()
	p := Prepared{Data: plain.Kept}
	if p.Look, err = pic.Pixels(LookEdge); err != nil {
		return Prepared{}, err
	}
	w, h := pic.Size()
	if full && refused == nil && len(plain.Kept) <= fullBytes && w*h <= fullPixels {
		return p, nil
	}
	small, err := pic.JPEG(KeptEdge, KeptQuality)
	if err != nil {
		return Prepared{}, err
	}
	if refused == nil && plain.Type == exif.JPEG && max(w, h) <= KeptEdge && len(plain.Kept) <= len(small) {
		return p, nil // it is small already
	}
	made, err := exif.Strip(exif.WithTaken(small, plain.Tags.Taken))
	p.Data = made.Kept
	return p, err
}

// isHEIF reports whether the file says that it is of the family of HEIC and AVIF
// (ISO/IEC 14496-12, section 4.3): a box of type ftyp comes first.
func isHEIF(data []byte) bool { return len(data) > 12 && string(data[4:8]) == "ftyp" }
