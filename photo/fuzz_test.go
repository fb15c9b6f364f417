package photo_test

import (
	"bytes"
	"image/color"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

// FuzzReceive: whatever arrives is stored whole, private and readable again, or
// refused with a fault. Limits are small, so that the fuzzer stays fast.
func FuzzReceive(f *testing.F) {
	f.Add(phototest.JPEG(20, 12, 1))
	f.Add(withPosition(phototest.JPEG(20, 12, 1)))
	f.Add(phototest.PNG(20, 12, 1))
	f.Add(phototest.WebP(20, 12, color.NRGBA{1, 2, 3, 255}))
	f.Add(jpegSized(100, 100, 0xc2))
	lim := photo.Limits{Bytes: 1 << 16, Pixels: 1 << 16, Memory: 1 << 20, Quota: 1 << 20}
	f.Fuzz(func(t *testing.T, file []byte) {
		s := phototest.NewMemory()
		info, err := photo.Receive(t.Context(), s, home, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), lim)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			require.True(t, photo.Refused(err))
			return
		}
		kept, stored, err := s.Read(t.Context(), home, info.Sum)
		require.NoError(t, err)
		require.Equal(t, info, stored)
		stripped, err := exif.Strip(kept)
		require.NoError(t, err)
		require.Equal(t, kept, stripped.Kept)
		for _, size := range photo.Sizes {
			_, err := s.ReadDerivative(t.Context(), home, info.Sum, size)
			require.Equal(t, info.Has(size), err == nil)
		}
	})
}
