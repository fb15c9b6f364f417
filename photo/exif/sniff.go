package exif

import "bytes"

const (
	jpegStart = "\xff\xd8\xff"
	pngStart  = "\x89PNG\r\n\x1a\n"
)

// Sniff tells the type of a file by its first bytes. A name or a declared media
// type never counts. It returns ErrTypeUnsupported for known kinds that are
// refused, such as HEIC, AVIF, GIF and SVG, and ErrNotImage for anything else.
func Sniff(b []byte) (Type, error) {
	switch {
	case starts(b, jpegStart):
		return JPEG, nil
	case starts(b, pngStart):
		return PNG, nil
	case len(b) >= 12 && starts(b, "RIFF") && starts(b[8:], "WEBP"):
		return WebP, nil
	}
	if kind := refusedKind(b); kind != "" {
		return "", unsupported("the file is %s", kind)
	}
	return "", ErrNotImage
}

// refusedKind names a picture or film format that is recognised but not taken.
func refusedKind(b []byte) string {
	switch {
	case len(b) >= 12 && starts(b[4:], "ftyp"):
		return brandKind(string(b[8:12]))
	case starts(b, "GIF87a"), starts(b, "GIF89a"):
		return "GIF"
	case starts(b, "II*\x00"), starts(b, "MM\x00*"):
		return "TIFF"
	case starts(b, "BM"):
		return "BMP"
	case starts(b, "\xff\x0a"), starts(b, "\x00\x00\x00\x0cJXL "):
		return "JPEG XL"
	case isSVG(b):
		return "SVG"
	}
	return ""
}

// brandKind names the kind of an ISO base media file by its main brand.
func brandKind(brand string) string {
	switch brand {
	case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "MiHE", "miaf":
		return "HEIC"
	case "avif", "avis":
		return "AVIF"
	}
	return "a film"
}

// isSVG looks for the root element in the first kilobyte. The answer only chooses
// the words of a refusal.
func isSVG(b []byte) bool {
	head := bytes.TrimLeft(b[:min(len(b), 1024)], "\xef\xbb\xbf \t\r\n")
	return starts(head, "<svg") || starts(head, "<?xml") && bytes.Contains(head, []byte("<svg"))
}

func starts(b []byte, s string) bool { return len(b) >= len(s) && string(b[:len(s)]) == s }
