package photo

import (
	"leafturn/model/fault"
	"leafturn/photo/exif"
)

// Faults of files that Receive refuses. Sending the same file again cannot help.
// Compare with errors.Is.
var (
	ErrNotImage        = exif.ErrNotImage
	ErrTypeUnsupported = exif.ErrTypeUnsupported
	ErrAnimated        = exif.ErrAnimated
	ErrDamaged         = exif.ErrDamaged
	// ErrTooLarge is returned for files over Limits.Bytes.
	ErrTooLarge = fault.New("photo_too_large", "This photo's file is too large. Make it smaller and add it again.")
	// ErrTooManyPixels is returned for pictures over Limits.Pixels or Limits.Memory.
	ErrTooManyPixels = fault.New("photo_too_many_pixels",
		"This photo has more pixels than can be handled. Make it smaller and add it again.")
	// ErrSumMismatch is returned when the bytes are not the promised ones.
	ErrSumMismatch = fault.New("photo_sum_mismatch",
		"The photo changed on its way here. It stays on the phone and is sent again.")
)

// ErrQuota is returned when the household's photos would pass Limits.Quota. It
// helps to delete photos.
var ErrQuota = fault.New("photo_quota",
	"This household's space for photos is full. The photo stays on the phone. Delete photos you no longer need.")

// ErrBusy is returned when too many photos are being worked on. It helps to try again
// a little later.
var ErrBusy = fault.New("photo_busy",
	"The server is working on other photos. The photo stays on the phone and is sent again in a moment.")

// Faults of reading.
var (
	// ErrUnknown is returned for photos the household does not have.
	ErrUnknown = fault.New("photo_unknown", "This photo is not here yet, or it was deleted.")
	// ErrNoDerivative is returned by stores that have the photo but not the copy.
	ErrNoDerivative = fault.New("photo_no_derivative", "This photo has no copy of that size.")
	// ErrDamagedAtRest is returned when stored bytes are not what was stored. They
	// are never handed out; receiving the photo again replaces them.
	ErrDamagedAtRest = fault.New("photo_damaged_at_rest",
		"The server's copy of this photo is damaged. A phone that still has the photo can send it again.")
)

// Refused reports whether err says that the file itself was refused, so that
// sending the same bytes again cannot help.
func Refused(err error) bool {
	switch fault.CodeOf(err) {
	case ErrNotImage.Code, ErrTypeUnsupported.Code, ErrAnimated.Code, ErrDamaged.Code,
		ErrTooLarge.Code, ErrTooManyPixels.Code, ErrSumMismatch.Code:
		return true
	}
	return false
}
