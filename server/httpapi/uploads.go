package httpapi

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/upload"
)

// Uploads takes photos in by the open protocol tus 1.0.0 with its extensions
// creation, creation-with-upload, checksum, expiration and termination.
//
// The handler is our own, on the framework's own requests. A ready-made one needs an
// adaptor to net/http, which knows no deadlines and either holds whole bodies in
// memory or lets the text of an error into the photo; see bodies.
//
// What arrives is written at once and kept when the connection breaks. The newest
// request about an upload ends an older one that is still receiving, and the answer
// to a wrong offset says the right one.
//
// A photo's sum is promised when its upload is created: Upload-Metadata must hold
// the key sha256 with the hex digest of the whole file, in base64 as the protocol
// wants. When the offset reaches the length, the photo is verified and stored. An
// upload of a photo that the household has already is complete from the start.
type Uploads struct {
	Desk   *upload.Desk
	Photos photo.Store
}

const (
	tusVersion    = "1.0.0"
	tusExtensions = "creation,creation-with-upload,checksum,expiration,termination"
	pieceType     = "application/offset+octet-stream"
)

// Headers of the protocol.
const (
	headerTusResumable   = "Tus-Resumable"
	headerTusVersion     = "Tus-Version"
	headerTusExtension   = "Tus-Extension"
	headerTusMaxSize     = "Tus-Max-Size"
	headerTusChecksum    = "Tus-Checksum-Algorithm"
	headerUploadOffset   = "Upload-Offset"
	headerUploadLength   = "Upload-Length"
	headerUploadDefer    = "Upload-Defer-Length"
	headerUploadMetadata = "Upload-Metadata"
	headerUploadExpires  = "Upload-Expires"
	headerUploadChecksum = "Upload-Checksum"
	headerMethodOverride = "X-HTTP-Method-Override"
)

// Faults of requests that do not speak the protocol. Programs meet them, people
// hardly ever.
var (
	errUploadVersion = fault.New("upload_version", "This app and the server speak different versions of the upload protocol. Update the app.")
	errUploadType    = fault.New("upload_type", "The bytes of an upload must be sent as "+pieceType+".")
	errUploadHeader  = fault.New("upload_header", "A header of this upload is missing or cannot be read.")
	errUploadNoSum   = fault.New("upload_sum_missing", "The upload does not say the photo's sum.")
	errChecksumName  = fault.New("upload_checksum_unknown", "This check sum cannot be computed here. Use sha1 or sha256.")
	errChecksum      = fault.New("upload_checksum", "A part of the photo changed on its way. It is sent again.")
)

// statusChecksum is what the protocol answers when a piece's check sum differs.
const statusChecksum = 460

// uploadStatuses are the statuses that the protocol itself gives to faults.
var uploadStatuses = map[fault.Code]int{
	errUploadVersion.Code:  http.StatusPreconditionFailed,
	errUploadType.Code:     http.StatusUnsupportedMediaType,
	errUploadHeader.Code:   http.StatusBadRequest,
	errUploadNoSum.Code:    http.StatusBadRequest,
	errChecksumName.Code:   http.StatusBadRequest,
	errChecksum.Code:       statusChecksum,
	upload.ErrUnknown.Code: http.StatusNotFound,
	upload.ErrExpired.Code: http.StatusGone,
	upload.ErrOffset.Code:  http.StatusConflict,
	upload.ErrCut.Code:     http.StatusConflict, // like any answer that says where to go on
	upload.ErrPastEnd.Code: http.StatusRequestEntityTooLarge,
	upload.ErrTooMany.Code: http.StatusTooManyRequests,
	photo.ErrTooLarge.Code: http.StatusRequestEntityTooLarge,
}

// uploadRoutes are the handlers of Uploads with what they need to know.
type uploadRoutes struct {
	desk      *upload.Desk
	photos    photo.Store
	household func(*fiber.Ctx) (model.HouseholdID, error)
}

// Mount adds the routes /uploads and /uploads/{id} to r. household tells whose
// member sent a request; an upload of another household answers like one that
// does not exist.
func (u *Uploads) Mount(r fiber.Router, household func(*fiber.Ctx) (model.HouseholdID, error)) {
	h := uploadRoutes{desk: u.Desk, photos: u.Photos, household: household}
	g := r.Group("/uploads", h.speak)
	g.Options("/", h.options)
	g.Options("/:id", h.options)
	g.Post("/", h.create)
	g.Head("/:id", h.head)
	g.Patch("/:id", h.patch)
	g.Delete("/:id", h.delete)
	g.Post("/:id", h.override)
}

// speak checks the protocol's version before a handler runs, and answers the
// faults that the protocol has statuses for. All others go on to the app.
func (h uploadRoutes) speak(c *fiber.Ctx) error {
	c.Set(headerTusResumable, tusVersion)
	c.Set(fiber.HeaderCacheControl, "no-store")
	if c.Method() == fiber.MethodOptions || c.Get(headerTusResumable) == tusVersion {
		return answerUpload(c, c.Next())
	}
	c.Set(headerTusVersion, tusVersion)
	return answerUpload(c, errUploadVersion)
}

func answerUpload(c *fiber.Ctx, err error) error {
	f, ok := fault.From(err)
	if !ok {
		return err
	}
	status, ok := uploadStatuses[f.Code]
	if !ok {
		return err
	}
	return c.Status(status).JSON(fiber.Map{"code": f.Code, "words": f.Words})
}

func (h uploadRoutes) options(c *fiber.Ctx) error {
	c.Set(headerTusVersion, tusVersion)
	c.Set(headerTusExtension, tusExtensions)
	c.Set(headerTusMaxSize, strconv.FormatInt(h.desk.Limits().Bytes, 10))
	c.Set(headerTusChecksum, checksumNames)
	return c.SendStatus(http.StatusNoContent)
}

// create starts an upload, and takes its first piece when the request has one.
func (h uploadRoutes) create(c *fiber.Ctx) error {
	hh, err := h.household(c)
	if err != nil {
		return err
	}
	promise, err := promiseOf(c)
	if err != nil {
		return err
	}
	piece, sent, err := firstPiece(c)
	if err != nil {
		return err
	}
	u, err := h.begin(c, hh, promise)
	if err != nil {
		return err
	}
	if sent && !u.Complete() {
		if u, err = h.desk.Append(c.UserContext(), hh, u.ID, piece); err != nil {
			return h.giveUp(c, hh, u.ID, err)
		}
	}
	if u.Offset > 0 {
		c.Set(headerUploadOffset, strconv.FormatInt(u.Offset, 10))
	}
	c.Set(fiber.HeaderLocation, strings.TrimRight(c.Path(), "/")+"/"+u.ID.String())
	setExpires(c, u)
	return c.SendStatus(http.StatusCreated)
}

// begin starts an upload, a complete one when the photo is here and sound: a damaged
// one is healed by being sent again.
func (h uploadRoutes) begin(c *fiber.Ctx, hh model.HouseholdID, p upload.Promise) (upload.Upload, error) {
	_, _, err := h.photos.Read(c.UserContext(), hh, p.Sum)
	switch {
	case err == nil:
		return h.desk.CreateComplete(c.UserContext(), hh, p)
	case errors.Is(err, photo.ErrUnknown), errors.Is(err, photo.ErrDamagedAtRest):
		return h.desk.Create(c.UserContext(), hh, p)
	}
	return upload.Upload{}, err
}

// giveUp removes an upload whose client will never learn its address.
func (h uploadRoutes) giveUp(c *fiber.Ctx, hh model.HouseholdID, id upload.ID, cause error) error {
	err := h.desk.Terminate(c.UserContext(), hh, id)
	if errors.Is(err, upload.ErrUnknown) {
		err = nil
	}
	return errors.Join(cause, err)
}

func (h uploadRoutes) head(c *fiber.Ctx) error {
	hh, id, err := h.target(c)
	if err != nil {
		return err
	}
	u, err := h.desk.Stat(c.UserContext(), hh, id)
	if err != nil {
		return err
	}
	c.Set(headerUploadOffset, strconv.FormatInt(u.Offset, 10))
	c.Set(headerUploadLength, strconv.FormatInt(u.Length, 10))
	if u.Metadata != "" {
		c.Set(headerUploadMetadata, u.Metadata)
	}
	setExpires(c, u)
	return c.SendStatus(http.StatusOK)
}

func (h uploadRoutes) patch(c *fiber.Ctx) error {
	hh, id, err := h.target(c)
	if err != nil {
		return err
	}
	offset, err := sizeHeader(c, headerUploadOffset)
	if err != nil {
		return err
	}
	piece, err := pieceOf(c, offset)
	if err != nil {
		return err
	}
	u, err := h.desk.Append(c.UserContext(), hh, id, piece)
	if errors.Is(err, upload.ErrOffset) || errors.Is(err, upload.ErrCut) {
		c.Set(headerUploadOffset, strconv.FormatInt(u.Offset, 10)) // where to go on
	}
	if err != nil {
		return err
	}
	c.Set(headerUploadOffset, strconv.FormatInt(u.Offset, 10))
	setExpires(c, u)
	return c.SendStatus(http.StatusNoContent)
}

func (h uploadRoutes) delete(c *fiber.Ctx) error {
	hh, id, err := h.target(c)
	if err != nil {
		return err
	}
	if err := h.desk.Terminate(c.UserContext(), hh, id); err != nil {
		return err
	}
	return c.SendStatus(http.StatusNoContent)
}

// override serves clients that can only send POST.
func (h uploadRoutes) override(c *fiber.Ctx) error {
	switch c.Get(headerMethodOverride) {
	case fiber.MethodPatch:
		return h.patch(c)
	case fiber.MethodDelete:
		return h.delete(c)
	case fiber.MethodHead:
		return h.head(c)
	}
	return fiber.ErrMethodNotAllowed
}

// target is the household and the upload that a request is about.
func (h uploadRoutes) target(c *fiber.Ctx) (model.HouseholdID, upload.ID, error) {
	hh, err := h.household(c)
	if err != nil {
		return model.HouseholdID{}, upload.ID{}, err
	}
	id, err := upload.ParseID(c.Params("id"))
	return hh, id, err
}

func setExpires(c *fiber.Ctx, u upload.Upload) {
	c.Set(headerUploadExpires, u.Expires.UTC().Format(http.TimeFormat))
}
