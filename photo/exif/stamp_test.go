package exif_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/exif"
)

func TestAPictureMadeAnewKeepsItsTime(t *testing.T) {
	var plain bytes.Buffer
	require.NoError(t, jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	for _, taken := range []exif.Taken{"2026-03-01T18:22:31", "2026-03-01T18:22:31+01:00"} {
		got, err := exif.Strip(exif.WithTaken(plain.Bytes(), taken))
		require.NoError(t, err)
		require.Equal(t, exif.Tags{Orientation: 1, Taken: taken}, got.Tags)
		again, err := exif.Strip(got.Kept)
		require.NoError(t, err)
		require.Equal(t, got.Kept, again.Kept)
	}
	require.Equal(t, plain.Bytes(), exif.WithTaken(plain.Bytes(), ""))
	require.Equal(t, []byte("text"), exif.WithTaken([]byte("text"), "2026-03-01T18:22:31"))
}
