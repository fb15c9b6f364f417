//go:build js && wasm

package browser_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/browser"
	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

// halves is a picture with a dark left half and a light right half.
func halves(t *testing.T, w, h int) []byte {
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			if x >= w/2 {
				img.SetGray(x, y, color.Gray{Y: 230})
			}
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, nil))
	return b.Bytes()
}

// turned is a JPEG that says it was taken with the camera's top to the right (EXIF
// orientation 6): a viewer turns it a quarter clockwise. The block is written by the
// book (Exif 2.32, section 4.6.2): byte order, one directory, one entry.
func turned(jpeg []byte) []byte {
	block := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00"
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(block) + 2)}, block...)
	return append(out, jpeg[2:]...)
}

func TestPrepareMakesALargePhotoSmallAndUpright(t *testing.T) {
	p, err := browser.Prepare(turned(halves(t, 3000, 1200)), false)
	require.NoError(t, err)
	kept, err := exif.Strip(p.Data)
	require.NoError(t, err)
	require.Equal(t, kept.Kept, p.Data, "there is nothing left to take out")
	require.Equal(t, exif.JPEG, kept.Type)
	require.Equal(t, [2]int{819, 2048}, [2]int{kept.Frame.Width, kept.Frame.Height})
	require.EqualValues(t, 1, kept.Tags.Orientation)

	require.Equal(t, image.Rect(0, 0, 256, 640), p.Look.Rect)
	top, bottom := p.Look.NRGBAAt(128, 100), p.Look.NRGBAAt(128, 540)
	require.Less(t, top.G, uint8(40), "what was left is at the top")
	require.Greater(t, bottom.G, uint8(200))
}

func TestPrepareKeepsTheTime(t *testing.T) {
	const taken = exif.Taken("2026-03-01T18:22:31+01:00")
	p, err := browser.Prepare(exif.WithTaken(phototest.JPEG(2600, 100, 1), taken), false)
	require.NoError(t, err)
	kept, err := exif.Strip(p.Data)
	require.NoError(t, err)
	require.Equal(t, taken, kept.Tags.Taken)
}

func TestPrepareLeavesASmallPhoto(t *testing.T) {
	small := phototest.JPEG(300, 200, 1)
	want, err := exif.Strip(small)
	require.NoError(t, err)
	p, err := browser.Prepare(small, false)
	require.NoError(t, err)
	if len(p.Data) == len(want.Kept) {
		require.Equal(t, want.Kept, p.Data)
	} else {
		require.Less(t, len(p.Data), len(want.Kept), "made anew only if that is smaller")
	}
	p, err = browser.Prepare(phototest.PNG(300, 200, 1), false)
	require.NoError(t, err)
	kept, err := exif.Strip(p.Data)
	require.NoError(t, err)
	require.Equal(t, exif.JPEG, kept.Type)
}

func TestPrepareKeepsTheFullSizeOnRequest(t *testing.T) {
	large := turned(halves(t, 3000, 1200))
	want, err := exif.Strip(large)
	require.NoError(t, err)
	p, err := browser.Prepare(large, true)
	require.NoError(t, err)
	require.Equal(t, want.Kept, p.Data, "pixels as the camera made them, and no private metadata")
	require.Equal(t, image.Rect(0, 0, 256, 640), p.Look.Rect)

	huge := halves(t, 10_000, 5_100)
	p, err = browser.Prepare(huge, true)
	require.NoError(t, err)
	kept, err := exif.Strip(p.Data)
	require.NoError(t, err)
	require.EqualValues(t, browser.KeptEdge, kept.Frame.Width, "no server would take more")
}

func TestPrepareRefusesWhatIsNoPhoto(t *testing.T) {
	heic := append([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), make([]byte, 64)...)
	for name, c := range map[string]struct {
		data []byte
		want error
	}{
		"text":                           {[]byte("no picture"), exif.ErrNotImage},
		"nothing":                        {nil, exif.ErrNotImage},
		"HEIC, which Chromium knows not": {heic, exif.ErrTypeUnsupported},
		"GIF":                            {[]byte("GIF89a\x01\x00\x01\x00\x80\x00\x00\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02D\x01\x00;"), exif.ErrTypeUnsupported},
		"cut short":                      {phototest.JPEG(300, 200, 1)[:600], exif.ErrDamaged},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := browser.Prepare(c.data, false)
			require.ErrorIs(t, err, c.want)
		})
	}
}
