package photo_test

import (
	"bytes"
	"context"
	"image"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/phototest"
)

// forgetful is a store that has lost its copies.
type forgetful struct {
	*phototest.Memory
	lost bool
}

func (f *forgetful) ReadDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size) ([]byte, error) {
	b, err := f.Memory.ReadDerivative(ctx, hh, sum, size)
	if err == nil && f.lost {
		return nil, photo.ErrNoDerivative
	}
	return b, err
}

func (f *forgetful) PutDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size, jpeg []byte) error {
	f.lost = false
	return f.Memory.PutDerivative(ctx, hh, sum, size, jpeg)
}

func TestLostCopyIsMadeAgain(t *testing.T) {
	for _, size := range photo.Sizes {
		s := &forgetful{Memory: phototest.NewMemory()}
		info, err := receive(t, s, withPosition(phototest.JPEG(1600, 1200, 1)))
		require.NoError(t, err)
		want, err := photo.Derivative(t.Context(), s, home, info.Sum, size)
		require.NoError(t, err)
		s.lost = true
		got, err := photo.Derivative(t.Context(), s, home, info.Sum, size)
		require.NoError(t, err)
		require.Equal(t, want, got)
		require.False(t, s.lost, "the copy must be put back")
		requireCopy(t, s, info.Sum, size, image.Pt(int(size)*3/4, int(size)))
	}
}

func TestDerivativeOfUnknownPhoto(t *testing.T) {
	_, err := photo.Derivative(t.Context(), phototest.NewMemory(), home, photo.SumOf(nil), photo.Small)
	require.ErrorIs(t, err, photo.ErrUnknown)
}

func TestSmallPhotoHasNoLargeCopy(t *testing.T) {
	s := phototest.NewMemory()
	info, err := receive(t, s, phototest.JPEG(1280, 20, 1))
	require.NoError(t, err)
	_, err = photo.Derivative(t.Context(), s, home, info.Sum, photo.Large)
	require.ErrorIs(t, err, photo.ErrNoDerivative)
}

func TestDamagedPhotoGivesNoCopy(t *testing.T) {
	s, p := phototest.NewMemory(), phototest.Photo(1)
	p.Derivatives = nil
	p.Kept = append(bytes.Clone(p.Kept), 1)
	require.NoError(t, s.Put(t.Context(), home, p))
	_, err := photo.Derivative(t.Context(), s, home, p.Info.Sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrDamagedAtRest)
}
