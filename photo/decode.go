package photo

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/webp"

	"leafturn/photo/exif"
	"leafturn/photo/scale"
)

// fits checks what the header promises, before a decoder believes it.
func (l Limits) fits(f exif.Frame) error {
	if int64(f.Width)*int64(f.Height) > l.Pixels || f.Memory > l.Memory {
		return ErrTooManyPixels.Because(fmt.Errorf("%d by %d pixels need %d bytes", f.Width, f.Height, f.Memory))
	}
	return nil
}

// decode gives the pixels of a stripped file whose frame fits the limits. It
// asks the decoder for the size first and believes only sizes that agree.
func decode(ctx context.Context, s exif.Stripped) (img image.Image, err error) {
	defer func() {
		if cause := recover(); cause != nil { // a decoder's bug met a hostile file
			err = ErrDamaged.Because(fmt.Errorf("decoder: %v", cause))
		}
	}()
	size, err := decodeConfig(s)
	if err != nil {
		return nil, ErrDamaged.Because(err)
	}
	if size.Width != s.Frame.Width || size.Height != s.Frame.Height {
		return nil, ErrDamaged.Because(fmt.Errorf("decoder sees %d by %d pixels", size.Width, size.Height))
	}
	r := &reader{ctx: ctx, Reader: bytes.NewReader(s.Kept)}
	switch s.Type {
	case exif.JPEG:
		img, err = jpeg.Decode(r)
	case exif.PNG:
		img, err = png.Decode(r)
	case exif.WebP:
		if img, err = webp.Decode(r); err == nil {
			scale.FullRange(img)
		}
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, ErrDamaged.Because(err)
	}
	return img, nil
}

func decodeConfig(s exif.Stripped) (image.Config, error) {
	r := bytes.NewReader(s.Kept)
	switch s.Type {
	case exif.JPEG:
		return jpeg.DecodeConfig(r)
	case exif.PNG:
		return png.DecodeConfig(r)
	}
	return webp.DecodeConfig(r)
}

// reader stops a decoder when ctx ends: decoders take no context, but they read.
type reader struct {
	ctx context.Context
	*bytes.Reader
}

func (r *reader) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}

// ReadByte is what some decoders read with instead.
func (r *reader) ReadByte() (byte, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.ReadByte()
}

// derive makes the copies of a decoded photo. The small one is made from the
// large one, which is much less work than from the original.
func derive(img image.Image, info Info, profile []byte) (map[Size][]byte, error) {
	if _, ink := img.(*image.CMYK); ink {
		profile = nil // it describes amounts of ink, and the copy has none
	}
	copies := map[Size][]byte{}
	orientation := info.Orientation
	for i := len(Sizes) - 1; i >= 0; i-- {
		size := Sizes[i]
		if !info.Has(size) {
			continue
		}
		img = scale.Fit(img, int(size), orientation)
		orientation = 1
		file, err := scale.JPEG(img)
		if err != nil {
			return nil, err
		}
		copies[size] = exif.WithProfile(file, profile)
	}
	return copies, nil
}
