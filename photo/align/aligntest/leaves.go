package aligntest

import (
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
)

// Leaves reads the leaf photographs (JPEG) of a folder, in the order of their names.
func Leaves(folder string) ([]image.Image, error) {
	names, err := filepath.Glob(filepath.Join(folder, "*.jp*g"))
	if err != nil || len(names) < 2 {
		return nil, fmt.Errorf("leaf photographs in %s: found %d, %v", folder, len(names), err)
	}
	var all []image.Image
	for _, name := range names {
		img, err := read(name)
		if err != nil {
			return nil, err
		}
		all = append(all, img)
	}
	return all, nil
}

// LeavesOnTable reads the photographs of a folder that have a mask beside them in
// which more than the rim is leaf, and lays each leaf on the same table.
func LeavesOnTable(folder string) ([]image.Image, error) {
	masks, err := filepath.Glob(filepath.Join(folder, "coffee-*.png"))
	if err != nil || len(masks) < 2 {
		return nil, fmt.Errorf("masks in %s: found %d, %v", folder, len(masks), err)
	}
	var all []image.Image
	for _, name := range masks {
		mask, err := read(name)
		if err != nil {
			return nil, err
		}
		img, err := read(strings.TrimSuffix(name, ".png") + ".jpg")
		if err != nil {
			return nil, err
		}
		b := mask.Bounds()
		all = append(all, OnTable(img, func(x, y int) bool {
			r, g, bl, _ := mask.At(b.Min.X+x, b.Min.Y+y).RGBA()
			return r+g+bl > 0
		}, 1))
	}
	return all, nil
}

func read(name string) (image.Image, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("open leaf: %w", err)
	}
	defer f.Close()
	decode := jpeg.Decode
	if filepath.Ext(name) == ".png" {
		decode = png.Decode
	}
	img, err := decode(f)
	if err != nil {
		return nil, fmt.Errorf("decode leaf %s: %w", name, err)
	}
	return img, nil
}
