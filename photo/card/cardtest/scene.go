// Package cardtest draws photos of sticky cards whose number of specks is known.
//
// A drawn card is a rectangle with a ground, printed lines, specks, large insects
// and fibres; a camera then looks at it with perspective, uneven light, shadow,
// reflected light, blur and grain, and writes a JPEG file. All of it is invented:
// sizes and colours are from memory, and no real card was measured. How well a
// method counts on drawn cards promises nothing for real ones.
package cardtest

import (
	"bytes"
	"image"
	"image/jpeg"
	"math/rand/v2"

	"leafturn/photo/card"
)

// Scene says what to draw. The same scene gives the same picture.
type Scene struct {
	Seed   uint64
	Blue   bool // the card; otherwise it is yellow
	Specks int
	Width  int // of the photo in pixels
	Height int

	Lines  bool // a printed grid
	Large  int  // insects that are not specks
	Fibres int

	Tilt   float64 // of the camera: how far corners may be off, as a share of the sides
	Turn   float64 // most degrees the card lies askew
	Uneven float64 // most share of light lost from one end to the other
	Shadow float64 // share of light taken by a shadow over a part of the card
	Glare  float64 // brightest reflected light, 1 being white
	Light  float64 // exposure; 1 is a good one
	Blur   float64 // standard deviation in pixels
	Grain  float64 // standard deviation in 8-bit steps at middle brightness
}

// Plain is an evenly lit card with nothing on it but specks.
func Plain(seed uint64, specks int) Scene {
	return Scene{
		Seed: seed, Blue: seed%2 == 1, Specks: specks, Width: 2048, Height: 1536,
		Tilt: 0.02, Turn: 4, Uneven: 0.1, Light: 1, Blur: 0.7, Grain: 2,
	}
}

// Hard is a card with printed lines, large insects and fibres, photographed
// carelessly: askew, half in shadow, with reflected light, blur and grain. How
// much of each depends on the seed.
func Hard(seed uint64, specks int) Scene {
	r := rand.New(rand.NewPCG(seed, 0xa7d))
	return Scene{
		Seed: seed, Blue: seed%2 == 1, Specks: specks, Width: 2048, Height: 1536,
		Lines: r.Float64() < 0.75, Large: r.IntN(5), Fibres: r.IntN(4),
		Tilt: 0.07, Turn: 14, Uneven: 0.3, Shadow: 0.6 * r.Float64(), Glare: 0.7 * r.Float64(),
		Light: 0.6 + 0.5*r.Float64(), Blur: 0.8 + 0.8*r.Float64(), Grain: 2 + 6*r.Float64(),
	}
}

// Photo is a drawn photo and what is true of it.
type Photo struct {
	JPEG    []byte
	Image   image.Image // JPEG decoded
	Corners card.Corners
	Specks  []card.Point // where the specks are
}

// Draw draws the scene.
func Draw(s Scene) Photo {
	r := rand.New(rand.NewPCG(s.Seed, 1))
	c := newSheet(r, s)
	v := newView(r, s, c)
	var file bytes.Buffer
	if err := jpeg.Encode(&file, v.expose(r, c), &jpeg.Options{Quality: 85}); err != nil {
		panic(err) // sides over 65,535: the scene is wrong
	}
	img, err := jpeg.Decode(bytes.NewReader(file.Bytes()))
	if err != nil {
		panic(err) // what was just written
	}
	p := Photo{JPEG: file.Bytes(), Image: img}
	for i, m := range [4]place{{0, 0}, {c.width, 0}, {c.width, c.height}, {0, c.height}} {
		p.Corners[i] = v.point(m)
	}
	for _, m := range c.specks {
		p.Specks = append(p.Specks, v.point(m))
	}
	return p
}
