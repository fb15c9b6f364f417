package httpapi

import (
	"encoding/hex"
	"errors"
	"mime"
	"net/http"

	"github.com/fxamacker/cbor/v2"
	"github.com/gofiber/fiber/v2"

	"leafturn/model/fault"
	"leafturn/server/auth"
	"leafturn/server/household"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Households lets phones found households, join them and exchange with them.
type Households struct {
	Service *household.Service
	Setup   *auth.Setup
}

const typeCBOR = "application/cbor"

var errNotCBOR = fault.New("content_type_unsupported", "This address takes "+typeCBOR+" only.")

// Public mounts what a phone does before it can sign in.
func (h *Households) Public(r fiber.Router) {
	r.Post("/found", takesCBOR, h.found)
	r.Post("/join", takesCBOR, h.join)
}

// Member mounts what a phone of the household does.
func (h *Households) Member(r fiber.Router) {
	r.Post("/exchange", takesCBOR, h.exchange)
	r.Get("/digest", h.digest)
}

func takesCBOR(c *fiber.Ctx) error {
	typ, _, err := mime.ParseMediaType(c.Get(fiber.HeaderContentType))
	if err != nil || typ != typeCBOR {
		return errNotCBOR
	}
	return c.Next()
}

// founding is the body of found.
type founding struct {
	Token   string `cbor:"1,keyasint"`
	Message []byte `cbor:"2,keyasint"`
}

var strictCBOR = func() cbor.DecMode {
	m, err := cbor.DecOptions{
		DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden,
		MaxNestedLevels: 4, MaxMapPairs: 16, MaxArrayElements: 16, UTF8: cbor.UTF8RejectInvalid,
	}.DecMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return m
}()

func (h *Households) found(c *fiber.Ctx) error {
	var body founding
	if err := strictCBOR.Unmarshal(c.Body(), &body); err != nil {
		return wire.ErrDamaged.Because(err)
	}
	m, err := wholeMessage(body.Message)
	if err != nil {
		return err
	}
	spend := func(found func() error) error { return h.Setup.Spend(body.Token, found) }
	answer, err := h.Service.Found(c.UserContext(), m, spend)
	if err != nil {
		return err
	}
	return sendMessage(c, answer)
}

func (h *Households) join(c *fiber.Ctx) error {
	m, err := wholeMessage(c.Body())
	if err != nil {
		return err
	}
	answer, err := h.Service.Join(c.UserContext(), m)
	if err != nil {
		return err
	}
	return sendMessage(c, answer)
}

// wholeMessage reads a message that is of no use in part.
func wholeMessage(data []byte) (*wire.Message, error) {
	m, bad, err := wire.Decode(data)
	if err != nil {
		return nil, err
	}
	if len(bad) > 0 {
		return nil, bad[0]
	}
	return m, nil
}

// exchange takes in what it can. A batch that cannot even be read is refused like
// one that is not allowed: by name, in the answer, and without holding others up.
func (h *Households) exchange(c *fiber.Ctx) error {
	m, bad, err := wire.Decode(c.Body())
	if err != nil {
		return err
	}
	answer, err := h.Service.Exchange(c.UserContext(), HouseholdOf(c), DeviceOf(c), m)
	if err != nil {
		return err
	}
	for _, b := range bad {
		answer.Refused = append(answer.Refused, unreadable(b))
	}
	return sendMessage(c, answer)
}

func unreadable(err error) wire.Refused {
	out := wire.Refused{Code: oplog.ErrDamaged.Code, Words: oplog.ErrDamaged.Words}
	if f, ok := fault.From(err); ok {
		out.Code, out.Words = f.Code, f.Words
	}
	var bad *wire.BadBatch
	if errors.As(err, &bad) {
		out.Device, out.First = bad.Device, bad.First
	}
	return out
}

func sendMessage(c *fiber.Ctx, m *wire.Message) error {
	body, err := m.Encode()
	if err != nil {
		return err
	}
	c.Status(http.StatusOK).Set(fiber.HeaderContentType, typeCBOR)
	return sendRationed(c, body)
}

func (h *Households) digest(c *fiber.Ctx) error {
	sum, err := h.Service.Digest(c.UserContext(), HouseholdOf(c))
	if err != nil {
		return err
	}
	return c.JSON(fiber.Map{"digest": hex.EncodeToString(sum[:])})
}
