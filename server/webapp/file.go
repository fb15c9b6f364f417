package webapp

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"github.com/andybalholm/brotli"
)

// File is one file of the app in every form it is served in.
type File struct {
	Type string // content type
	hash string
	raw  []byte
	forms
}

// forms are a file's compressed forms; a form that would not be smaller is nil.
type forms struct{ br, gz []byte }

// shellQuality is for the small files, which are compressed at each start.
const shellQuality = 6

func newFile(typ string, raw []byte, made *forms) *File {
	sum := sha256.Sum256(raw)
	f := &File{Type: typ, hash: hex.EncodeToString(sum[:10]), raw: raw}
	switch {
	case made != nil:
		f.forms = *made
	case compressible(typ):
		f.forms = forms{br: smaller(brotliOf(raw, shellQuality), raw), gz: smaller(gzipOf(raw), raw)}
	}
	return f
}

func compressible(typ string) bool {
	return !strings.HasPrefix(typ, "image/") || typ == "image/svg+xml"
}

func smaller(form, raw []byte) []byte {
	if len(form) < len(raw) {
		return form
	}
	return nil
}

// Pick gives the file in the best form that accepts agrees to, with the name of
// its encoding ("" for none) and its entity tag. Forms differ in their bytes, so
// they differ in their tags.
func (f *File) Pick(accepts func(encoding string) bool) (body []byte, encoding, etag string) {
	switch {
	case f.br != nil && accepts("br"):
		return f.br, "br", `"` + f.hash + `-br"`
	case f.gz != nil && accepts("gzip"):
		return f.gz, "gzip", `"` + f.hash + `-gz"`
	}
	return f.raw, "", `"` + f.hash + `"`
}

// brotliOf compresses in memory, where writing cannot fail.
func brotliOf(raw []byte, quality int) []byte {
	var b bytes.Buffer
	w := brotli.NewWriterLevel(&b, quality)
	_, _ = w.Write(raw)
	_ = w.Close()
	return b.Bytes()
}

func gzipOf(raw []byte) []byte {
	var b bytes.Buffer
	w, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // a level that exists
	_, _ = w.Write(raw)
	_ = w.Close()
	return b.Bytes()
}
