package httpapi

import (
	"bytes"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"hash"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"leafturn/photo"
	"leafturn/photo/upload"
)

// checksumNames are the check sums a piece may come with. The protocol demands
// sha1; it finds accidents, not attacks, which the photo's own sum is for.
const checksumNames = "sha1,sha256"

// sizeHeader reads a header that holds a number of bytes: decimal digits, nothing
// else.
func sizeHeader(c *fiber.Ctx, name string) (int64, error) {
	text := c.Get(name)
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil || n > math.MaxInt64 || text[0] == '+' {
		return 0, errUploadHeader.Because(fmt.Errorf("%s: %q", name, text))
	}
	return int64(n), nil
}

// promiseOf reads what a client promises when it creates an upload. Values that
// outlive the request are copied: the framework reuses the memory of its strings.
func promiseOf(c *fiber.Ctx) (upload.Promise, error) {
	if c.Get(headerUploadDefer) != "" {
		return upload.Promise{}, errUploadHeader.Because(fmt.Errorf("%s is not offered", headerUploadDefer))
	}
	length, err := sizeHeader(c, headerUploadLength)
	if err != nil {
		return upload.Promise{}, err
	}
	metadata := strings.Clone(c.Get(headerUploadMetadata))
	sum, err := promisedSum(metadata)
	return upload.Promise{Length: length, Sum: sum, Metadata: metadata}, err
}

// promisedSum finds the photo's sum in Upload-Metadata: pairs of a key and a value
// in base64, divided by commas. A key may stand without a value. Other keys, such
// as file names, are kept for the client and never looked at.
func promisedSum(metadata string) (photo.Sum, error) {
	for _, pair := range strings.Split(metadata, ",") {
		key, value, _ := strings.Cut(strings.TrimSpace(pair), " ")
		if key != "sha256" {
			continue
		}
		text, err := base64.StdEncoding.Strict().DecodeString(value)
		if err != nil {
			return photo.Sum{}, errUploadHeader.Because(err)
		}
		sum, err := photo.ParseSum(string(text))
		if err != nil {
			return photo.Sum{}, errUploadHeader.Because(err)
		}
		return sum, nil
	}
	return photo.Sum{}, errUploadNoSum
}

// firstPiece is the piece that a creating request carries, if it carries one.
func firstPiece(c *fiber.Ctx) (p upload.Piece, sent bool, err error) {
	if b := bodyOf(c); b.Length == 0 {
		return upload.Piece{}, false, nil
	}
	p, err = pieceOf(c, 0)
	return p, err == nil, err
}

// pieceOf gives the bytes that a request carries for an offset. They are taken as
// they came, never inflated.
func pieceOf(c *fiber.Ctx, offset int64) (upload.Piece, error) {
	if c.Get(fiber.HeaderContentType) != pieceType {
		return upload.Piece{}, errUploadType
	}
	p := bodyOf(c)
	p.Offset = offset
	return checked(p, c.Get(headerUploadChecksum))
}

// bodyOf is the request's body as a piece, streamed or in memory.
func bodyOf(c *fiber.Ctx) upload.Piece {
	if b, ok := c.Locals(keyBody).(*incoming); ok {
		return upload.Piece{Length: b.left, Body: b, Interrupt: b.Interrupt}
	}
	b := c.Request().Body()
	return upload.Piece{Length: int64(len(b)), Body: bytes.NewReader(b)}
}

// checked compares a piece with Upload-Checksum while it is read: the sum's name, a
// space, and the sum in base64. Without the header there is nothing to compare. A
// piece with another sum must leave no trace, so it counts as a whole or not at all.
func checked(p upload.Piece, header string) (upload.Piece, error) {
	if header == "" {
		return p, nil
	}
	name, value, _ := strings.Cut(header, " ")
	var sum hash.Hash
	switch name {
	case "sha1":
		sum = sha1.New()
	case "sha256":
		sum = sha256.New()
	default:
		return p, errChecksumName
	}
	want, err := base64.StdEncoding.Strict().DecodeString(value)
	if err != nil || len(want) != sum.Size() {
		return p, errUploadHeader.Because(fmt.Errorf("%s: %q", headerUploadChecksum, header))
	}
	p.Body, p.Whole = &summed{p.Body, sum, want}, true
	return p, nil
}

// summed ends with errChecksum, in place of io.EOF, when its bytes have another sum.
type summed struct {
	io.Reader
	sum  hash.Hash
	want []byte
}

func (s *summed) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	s.sum.Write(p[:n])
	if err == io.EOF && !bytes.Equal(s.sum.Sum(nil), s.want) {
		err = errChecksum
	}
	return n, err
}
