package httpapi

import (
	"errors"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
)

// Photos hands stored photos out: /photos/{sum} gives the kept bytes, and with
// ?size=320 or ?size=1280 a small upright copy. It also tells a phone which of the
// photos that it has sent are missing here.
type Photos struct {
	Store photo.Store
}

var (
	errPhotoSize = fault.New("photo_size_unknown", "Photos come in the sizes 320 and 1280.")
	errPhotoMany = fault.New("photo_too_many_asked", "A phone may ask about 500 photos at once.")
)

// askedMax is how many photos a phone may ask about at once.
const askedMax = 500

// Mount adds the routes to r. household tells whose member sent a request; a photo
// of another household answers like one that does not exist.
func (p *Photos) Mount(r fiber.Router, household func(*fiber.Ctx) (model.HouseholdID, error)) {
	h := photoRoutes{store: p.Store, household: household}
	r.Get("/photos/:sum", h.get)
	r.Post("/photos/missing", h.missing)
}

type photoRoutes struct {
	store     photo.Store
	household func(*fiber.Ctx) (model.HouseholdID, error)
}

// photoPolicy keeps a browser that is made to open a photo as a page from running
// or fetching anything.
const photoPolicy = "default-src 'none'; sandbox; frame-ancestors 'none'"

// get answers with one photo or copy. The bytes under an address never change, so
// a phone may keep them as long as it likes, but nobody on the way may.
func (h photoRoutes) get(c *fiber.Ctx) error {
	hh, err := h.household(c)
	if err != nil {
		return err
	}
	sum, err := photo.ParseSum(c.Params("sum"))
	if err != nil {
		return photo.ErrUnknown.Because(err)
	}
	size, err := sizeOf(c.Query("size"))
	if err != nil {
		return err
	}
	info, err := h.store.Stat(c.UserContext(), hh, sum)
	if err != nil {
		return err
	}
	if size != 0 && !info.Has(size) {
		size = 0 // the photo is no larger than the copy would be
	}
	etag := `"` + info.Kept.String() + "-" + strconv.Itoa(int(size)) + `"`
	if matches(c.Get(fiber.HeaderIfNoneMatch), etag) {
		setPhotoHeaders(c, etag)
		return c.SendStatus(fiber.StatusNotModified)
	}
	body, mime, err := h.read(c, hh, info, size)
	if err != nil {
		return err
	}
	setPhotoHeaders(c, etag)
	c.Set(fiber.HeaderContentType, mime)
	return c.Send(body)
}

type asked struct {
	Sums []photo.Sum `json:"sums"`
}

type lacking struct {
	Missing []photo.Sum `json:"missing"`
}

// missing answers with those of the sums that the household has no sound photo under.
// A phone sends those again: to a server that was set back to a backup, or whose disk
// failed, its own copy is the only one.
func (h photoRoutes) missing(c *fiber.Ctx) error {
	hh, err := h.household(c)
	if err != nil {
		return err
	}
	var q asked
	if err := readJSON(c, &q); err != nil {
		return err
	}
	if len(q.Sums) > askedMax {
		return errPhotoMany
	}
	missing, err := photo.Missing(c.UserContext(), h.store, hh, q.Sums)
	if err != nil {
		return err
	}
	if missing == nil {
		missing = []photo.Sum{} // an empty list rather than null
	}
	return c.JSON(lacking{missing})
}

func (h photoRoutes) read(c *fiber.Ctx, hh model.HouseholdID, info photo.Info, size photo.Size) ([]byte, string, error) {
	if size != 0 {
		b, err := photo.Derivative(c.UserContext(), h.store, hh, info.Sum, size)
		return b, "image/jpeg", err
	}
	b, info, err := h.store.Read(c.UserContext(), hh, info.Sum)
	return b, info.Type.MIME(), err
}

// sizeOf reads the query's size, 0 when there is none.
func sizeOf(text string) (photo.Size, error) {
	if text == "" {
		return 0, nil
	}
	for _, size := range photo.Sizes {
		if text == strconv.Itoa(int(size)) {
			return size, nil
		}
	}
	return 0, errPhotoSize.Because(errors.New(text))
}

// matches reports whether an If-None-Match header names the tag.
func matches(header, etag string) bool {
	for _, tag := range strings.Split(header, ",") {
		if tag = strings.TrimPrefix(strings.TrimSpace(tag), "W/"); tag == etag || tag == "*" {
			return true
		}
	}
	return false
}

func setPhotoHeaders(c *fiber.Ctx, etag string) {
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderCacheControl, "private, max-age=31536000, immutable")
	c.Set(fiber.HeaderContentSecurityPolicy, photoPolicy)
	c.Set(fiber.HeaderETag, etag)
}
