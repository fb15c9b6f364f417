package httpapi

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"net/url"
	"strings"
	"sync"

	"github.com/gofiber/fiber/v2"

	"leafturn/model/fault"
)

var errZone = fault.New("zone_unknown", "This server does not know this time zone.")

// zoneArchive holds the rules of all time zones, one TZif file (RFC 9636) each. It
// is the file lib/time/zoneinfo.zip of a Go release, unchanged; its content is
// the time zone database of IANA, which is in the public domain. It is carried
// along because the standard library embeds the same data but gives nobody the
// bytes, and a phone needs them to reckon in its household's zone.
//
//go:embed zoneinfo.zip
var zoneArchive []byte

// zones is the archive's table of contents. Names are looked up in it and never
// become a path, so a name with dots in it is just an unknown one.
var zones = sync.OnceValues(func() (map[string]*zip.File, error) {
	r, err := zip.NewReader(bytes.NewReader(zoneArchive), int64(len(zoneArchive)))
	if err != nil {
		return nil, fmt.Errorf("read zone archive: %w", err)
	}
	files := map[string]*zip.File{}
	for _, f := range r.File {
		if !strings.HasSuffix(f.Name, "/") {
			files[f.Name] = f
		}
	}
	return files, nil
})

func zone(c *fiber.Ctx) error {
	name, err := url.PathUnescape(c.Params("*"))
	if err != nil {
		return errZone.Because(err)
	}
	files, err := zones()
	if err != nil {
		return err
	}
	f, ok := files[name]
	if !ok {
		return errZone
	}
	rules, err := unzip(f)
	if err != nil {
		return fmt.Errorf("read zone %s: %w", name, err)
	}
	c.Set(fiber.HeaderCacheControl, "public, max-age=86400")
	return sendBody(c, "application/tzif", rules)
}

func unzip(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}
