package photo

import (
	"context"
	"errors"
	"fmt"
	"io"

	"leafturn/model"
	"leafturn/photo/exif"
)

// Receive verifies the size bytes of r and stores them as a photo of the
// household. want is the sum that was promised for them. It returns the stored
// photo's Info, or
//   - a fault for which Refused is true: the file is refused, in this order: larger
//     than the limit, not the promised bytes, not a photo of an accepted type,
//     more pixels than the limit, damaged;
//   - ErrQuota: there is no room; ErrBusy: others come first;
//   - ctx's error when ctx ended first, an error of r, or an error of the store:
//     trying again may help. Nothing is stored that could be seen.
//
// Receiving a photo again stores it again and gives the same Info. No pixel is
// decoded before the promised size is known to fit.
func Receive(ctx context.Context, st Store, hh model.HouseholdID, want Sum, r io.ReaderAt, size int64, lim Limits) (Info, error) {
	if size > lim.Bytes {
		return Info{}, ErrTooLarge.Because(fmt.Errorf("%d of at most %d bytes", size, lim.Bytes))
	}
	var info Info
	err := inTurn(ctx, func() error {
		p, err := verify(ctx, want, r, size, lim)
		if err != nil {
			return err
		}
		if err := room(ctx, st, hh, p.Info, lim.Quota); err != nil {
			return err
		}
		info = p.Info
		return st.Put(ctx, hh, p)
	})
	if err != nil {
		return Info{}, fmt.Errorf("receive photo %v: %w", want, err)
	}
	return info, nil
}

// verify turns bytes into a photo, or says what is wrong with them.
func verify(ctx context.Context, want Sum, r io.ReaderAt, size int64, lim Limits) (Photo, error) {
	b := make([]byte, size)
	if _, err := io.ReadFull(io.NewSectionReader(r, 0, size), b); err != nil {
		return Photo{}, fmt.Errorf("read: %w", err)
	}
	if got := SumOf(b); got != want {
		return Photo{}, ErrSumMismatch.Because(fmt.Errorf("the bytes have sum %v", got))
	}
	s, err := exif.Strip(b)
	if err != nil {
		return Photo{}, err
	}
	if err := lim.fits(s.Frame); err != nil {
		return Photo{}, err
	}
	img, err := decode(ctx, s)
	if err != nil {
		return Photo{}, err
	}
	info := infoOf(want, s)
	copies, err := derive(img, info, s.Profile)
	return Photo{Info: info, Kept: s.Kept, Derivatives: copies}, err
}

func infoOf(sum Sum, s exif.Stripped) Info {
	return Info{
		Sum: sum, Kept: SumOf(s.Kept), Type: s.Type,
		Width: s.Frame.Width, Height: s.Frame.Height, Bytes: int64(len(s.Kept)),
		Orientation: s.Tags.Orientation, Taken: s.Tags.Taken,
	}
}

// room checks the quota. Receive calls it in turn, so two photos cannot both take
// the last of the room. A photo that is there already needs no more of it.
func room(ctx context.Context, st Store, hh model.HouseholdID, info Info, quota int64) error {
	used, err := st.Usage(ctx, hh)
	if err != nil {
		return fmt.Errorf("count usage: %w", err)
	}
	if used+info.Bytes <= quota {
		return nil
	}
	if _, err := st.Stat(ctx, hh, info.Sum); !errors.Is(err, ErrUnknown) {
		if errors.Is(err, ErrDamagedAtRest) { // healing it takes no more room
			return nil
		}
		return err
	}
	return ErrQuota.Because(fmt.Errorf("%d bytes used, %d wanted, %d allowed", used, info.Bytes, quota))
}

// Derivative gives a photo's copy of a size, and makes it again when the store
// has lost it. ErrUnknown when the photo is not there; ErrNoDerivative when a
// photo of its size has no such copy, because the photo itself is not larger;
// ErrDamagedAtRest when there is nothing sound to make it from.
func Derivative(ctx context.Context, st Store, hh model.HouseholdID, sum Sum, size Size) ([]byte, error) {
	b, err := st.ReadDerivative(ctx, hh, sum, size)
	if err == nil || !errors.Is(err, ErrNoDerivative) {
		return b, err
	}
	err = inTurn(ctx, func() error {
		b, err = remake(ctx, st, hh, sum, size)
		return err
	})
	return b, err
}

// remake makes a lost copy again from the kept bytes and puts it back.
func remake(ctx context.Context, st Store, hh model.HouseholdID, sum Sum, size Size) ([]byte, error) {
	kept, info, err := st.Read(ctx, hh, sum)
	if err != nil {
		return nil, err
	}
	if !info.Has(size) {
		return nil, ErrNoDerivative
	}
	s, err := exif.Strip(kept)
	if err != nil {
		return nil, fmt.Errorf("make copy of photo %v: %w", sum, err)
	}
	img, err := decode(ctx, s)
	if err != nil {
		return nil, fmt.Errorf("make copy of photo %v: %w", sum, err)
	}
	copies, err := derive(img, info, s.Profile)
	if err != nil {
		return nil, err
	}
	if err := st.PutDerivative(ctx, hh, sum, size, copies[size]); err != nil {
		return nil, fmt.Errorf("keep copy of photo %v: %w", sum, err)
	}
	return copies[size], nil
}
