//go:build js && wasm

package main

import (
	"image"

	"leafturn/client-sdk/browser"
)

// darkroom lets the browser decode and draw photos.
type darkroom struct{}

func (darkroom) Prepare(file []byte, full bool) ([]byte, image.Image, error) {
	p, err := browser.Prepare(file, full)
	if err != nil || p.Look == nil {
		return p.Data, nil, err // and not a nil picture inside an interface
	}
	return p.Data, p.Look, nil
}

func (darkroom) Look(kept []byte, long int) (image.Image, error) {
	pic, err := browser.DecodePicture(kept)
	if err != nil {
		return nil, err
	}
	defer pic.Close()
	return pic.Pixels(long)
}
