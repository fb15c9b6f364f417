package main

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strconv"

	"leafturn/photo/phototest"
	"leafturn/photo/scale"
)

// source is one picture in the forms that are measured, each a file in the folder.
type source string

// original is a picture of 12 million pixels, lying on its side, with a position.
func (s source) original() string { return filepath.Join(string(s), "original.jpg") }

// phone is the same as a phone sends it: smaller, upright, without tags.
func (s source) phone(size int) string {
	return filepath.Join(string(s), fmt.Sprintf("phone-%d.jpg", size))
}

// The sizes that phones send: what the app makes, and what the reference figures of
// other programs were measured with.
var phoneSizes = []int{1280, 2048}

// draw draws the picture whose number the folder's name is, and writes its forms.
func draw(dir string) error {
	s := source(dir)
	seed, err := strconv.ParseUint(filepath.Base(dir), 10, 64)
	if err != nil {
		return err
	}
	picture := phototest.Picture(4000, 3000, seed)
	original, err := encode(picture, 93)
	if err != nil {
		return err
	}
	if err := os.WriteFile(s.original(), withTags(original), 0o600); err != nil {
		return err
	}
	for _, size := range phoneSizes {
		b, err := encode(scale.Fit(picture, size, 6), 85)
		if err != nil {
			return err
		}
		if err := os.WriteFile(s.phone(size), b, 0o600); err != nil {
			return err
		}
	}
	return nil
}

func encode(img image.Image, quality int) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// withTags puts a block of tags behind the start of a JPEG: orientation 6, and where a
// position would be.
func withTags(file []byte) []byte {
	tags := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x02" +
		"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00" + "\x88\x25\x00\x04\x00\x00\x00\x01\x00\x00\x00\x26" + "\x00\x00\x00\x00" +
		"\x00\x01\x00\x01\x00\x02\x00\x00\x00\x02N\x00\x00\x00\x00\x00\x00\x00"
	n := len(tags) + 2
	segment := append([]byte{0xff, 0xe1, byte(n >> 8), byte(n)}, tags...)
	return append(append(bytes.Clone(file[:2]), segment...), file[2:]...)
}
