//go:build js && wasm

package browser

import (
	"fmt"
	"image"
	"syscall/js"

	"leafturn/photo/exif"
)

// Picture is a photo that the browser has decoded. Browsers decode far faster than we
// could, and some know kinds of files that we do not.
type Picture struct {
	bitmap js.Value
}

// ErrNoDecoder is returned where this browser cannot draw outside a page; then photos
// are kept as they are.
var ErrNoDecoder = fmt.Errorf("this browser draws in pages only")

// DecodePicture decodes a photo and turns it upright. Close frees it.
func DecodePicture(data []byte) (*Picture, error) {
	create := js.Global().Get("createImageBitmap")
	if create.Type() != js.TypeFunction || js.Global().Get("OffscreenCanvas").Type() != js.TypeFunction {
		return nil, ErrNoDecoder
	}
	blob := js.Global().Get("Blob").New([]any{jsBytes(data)})
	bitmap, err := await(create.Invoke(blob, map[string]any{"imageOrientation": "from-image"}))
	if err != nil {
		return nil, exif.ErrNotImage.Because(err)
	}
	return &Picture{bitmap}, nil
}

// Close frees the pixels.
func (p *Picture) Close() { p.bitmap.Call("close") }

// Size is the width and height in pixels, upright.
func (p *Picture) Size() (width, height int) {
	return p.bitmap.Get("width").Int(), p.bitmap.Get("height").Int()
}

// draw draws the picture so that its longer edge has at most so many pixels.
func (p *Picture) draw(long int) (canvas, on js.Value, err error) {
	w, h := fit(p, long)
	canvas = js.Global().Get("OffscreenCanvas").New(w, h)
	on = canvas.Call("getContext", "2d", map[string]any{"alpha": false, "willReadFrequently": true})
	if on.IsNull() {
		return canvas, on, ErrNoDecoder
	}
	on.Set("imageSmoothingQuality", "high")
	err = attempt(func() { on.Call("drawImage", p.bitmap, 0, 0, w, h) })
	return canvas, on, err
}

func fit(p *Picture, long int) (w, h int) {
	w, h = p.Size()
	if edge := max(w, h); edge > long {
		w, h = max(1, (w*long+edge/2)/edge), max(1, (h*long+edge/2)/edge)
	}
	return w, h
}

// JPEG encodes the picture with its longer edge at most so many pixels. Quality is
// from 0 to 1.
func (p *Picture) JPEG(long int, quality float64) ([]byte, error) {
	canvas, _, err := p.draw(long)
	if err != nil {
		return nil, err
	}
	blob, err := await(canvas.Call("convertToBlob", map[string]any{"type": "image/jpeg", "quality": quality}))
	if err != nil {
		return nil, err
	}
	buffer, err := await(blob.Call("arrayBuffer"))
	if err != nil {
		return nil, err
	}
	return goBytes(js.Global().Get("Uint8Array").New(buffer)), nil
}

// Pixels gives the picture's pixels, with its longer edge at most so many.
func (p *Picture) Pixels(long int) (*image.NRGBA, error) {
	_, on, err := p.draw(long)
	if err != nil {
		return nil, err
	}
	w, h := fit(p, long)
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	err = attempt(func() {
		data := on.Call("getImageData", 0, 0, w, h).Get("data")
		js.CopyBytesToGo(img.Pix, data)
	})
	return img, err
}
