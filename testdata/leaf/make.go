//go:build ignore

// Command make makes the small copies that lie beside it.
//
//	go run testdata/leaf/make.go <folder of the two sets>
package main

import (
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"

	"leafturn/photo/scale"
)

// long is the longer side of a copy in pixels.
const long = 640

var sets = []struct {
	folder, ending string
	names          []string
}{
	{"coffee-leaf-masks", "_mask.png", []string{"1010.jpg", "1614.jpg", "261.jpg", "3.jpg", "318.jpg", "583.jpg", "684.jpg", "703.jpg",
		"839.jpg", "952.jpg"}},
	{"soybean-rust-underside", ".png", []string{"image17.jpeg", "image23.jpeg", "image37.jpeg", "image57.jpeg", "image61.jpeg", "image7.jpeg"}},
}

func main() {
	for _, set := range sets {
		for _, name := range set.names {
			if err := copies(filepath.Join(os.Args[1], set.folder), name, set.ending); err != nil {
				fmt.Fprintln(os.Stderr, "make:", err)
				os.Exit(1)
			}
		}
	}
}

// copies writes a small photograph and its mask beside this file.
func copies(folder, name, ending string) error {
	stem := strings.TrimSuffix(name, filepath.Ext(name))
	photo, err := read(filepath.Join(folder, "images", name))
	if err != nil {
		return err
	}
	small := scale.Fit(photo, long, 1)
	file, err := scale.JPEG(small)
	if err != nil {
		return err
	}
	prefix := strings.Split(filepath.Base(folder), "-")[0] + "-"
	to := filepath.Join("testdata", "leaf", prefix+strings.TrimPrefix(stem, "image"))
	if err := os.WriteFile(to+".jpg", file, 0o644); err != nil {
		return err
	}
	mask, err := read(filepath.Join(folder, "masks", stem+ending))
	if err != nil {
		return err
	}
	out, err := os.Create(to + ".png")
	if err != nil {
		return err
	}
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(out, nearest(mask, small.Bounds())); err != nil {
		return err
	}
	return out.Close()
}

// nearest takes the pixel of the mask in the middle of each pixel of the copy, as
// one of four colours: black, green, red and white.
func nearest(mask image.Image, r image.Rectangle) image.Image {
	out := image.NewPaletted(r, color.Palette{color.Black, color.RGBA{0, 176, 0, 255}, color.RGBA{255, 0, 0, 255}, color.White})
	from := mask.Bounds()
	for y := range r.Dy() {
		for x := range r.Dx() {
			out.Set(x, y, mask.At((2*x+1)*from.Dx()/(2*r.Dx()), (2*y+1)*from.Dy()/(2*r.Dy())))
		}
	}
	return out
}

func read(file string) (image.Image, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	return img, err
}
