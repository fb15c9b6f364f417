package exif

// WithTaken gives an upright JPEG that says nothing about itself the time at which
// it was taken, for whoever has made it anew from the camera's file. It returns jpeg
// itself when the time is unknown.
func WithTaken(jpeg []byte, t Taken) []byte {
	if t == "" || !starts(jpeg, jpegStart) {
		return jpeg
	}
	b := append(make([]byte, 0, len(jpeg)+200), jpeg[:2]...)
	b = appendSegment(b, markerAPP0+1, []byte(exifName), writeTags(Tags{Orientation: 1, Taken: t}))
	return append(b, jpeg[2:]...)
}
