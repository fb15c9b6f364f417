package exif

import (
	"fmt"

	"leafturn/model/fault"
)

// Faults of files that are refused. Compare with errors.Is.
var (
	// ErrNotImage is returned when the bytes are no picture at all.
	ErrNotImage = fault.New("photo_not_image", "This file is not a photo.")
	// ErrTypeUnsupported is returned for pictures of a kind that is not taken.
	ErrTypeUnsupported = fault.New("photo_type_unsupported",
		"Leafturn takes photos as JPEG, PNG or WebP. Save the photo as JPEG and add it again.")
	// ErrAnimated is returned for files that hold more than one picture in time.
	ErrAnimated = fault.New("photo_animated", "This picture moves. Add a still photo.")
	// ErrDamaged is returned when the file is cut short or its parts contradict each other.
	ErrDamaged = fault.New("photo_damaged", "The photo is damaged or incomplete. Choose it again, or take a new one.")
)

func damaged(format string, args ...any) error {
	return ErrDamaged.Because(fmt.Errorf(format, args...))
}

func unsupported(format string, args ...any) error {
	return ErrTypeUnsupported.Because(fmt.Errorf(format, args...))
}
