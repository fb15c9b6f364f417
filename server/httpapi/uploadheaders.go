package httpapi

import (
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
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
		text, err := base64.StdEncoding.DecodeString(value)
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

// pieceOf gives the bytes that a request carries, once their type and their check
// sum, if there is one, are right. The bytes are valid while the handler runs.
// They are taken as they came, never inflated.
func pieceOf(c *fiber.Ctx) ([]byte, error) {
	if c.Get(fiber.HeaderContentType) != pieceType {
		return nil, errUploadType
	}
	piece := c.Request().Body()
	return piece, checkPiece(piece, c.Get(headerUploadChecksum))
}

// checkPiece compares a piece with Upload-Checksum: the sum's name, a space, and
// the sum in base64. Without the header there is nothing to compare.
func checkPiece(piece []byte, header string) error {
	if header == "" {
		return nil
	}
	name, value, _ := strings.Cut(header, " ")
	var got []byte
	switch name {
	case "sha1":
		sum := sha1.Sum(piece)
		got = sum[:]
	case "sha256":
		sum := sha256.Sum256(piece)
		got = sum[:]
	default:
		return errChecksumName
	}
	want, err := base64.StdEncoding.DecodeString(value)
	if err != nil || len(want) != len(got) {
		return errUploadHeader.Because(fmt.Errorf("%s: %q", headerUploadChecksum, header))
	}
	if string(want) != string(got) {
		return errChecksum
	}
	return nil
}
