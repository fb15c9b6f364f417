package httpapi

import (
	"encoding/base64"
	"errors"
	"net/http"
	"strings"

	"github.com/gofiber/fiber/v2"

	"leafturn/server/notify"
	"leafturn/server/notify/calendar"
	"leafturn/server/notify/webpush"
	"leafturn/server/store"
)

// Reminders lets phones take messages, and calendars fetch feeds.
type Reminders struct {
	Service   *notify.Service
	SenderKey string // by which push services know this server
}

// Public mounts what needs no token: the key is for anybody, and a feed's address is
// a secret itself.
func (r *Reminders) Public(api fiber.Router) {
	api.Get("/push/key", r.key)
	api.Get(feedPath+"*", r.feed)
}

// Member mounts what a device does for itself and its member. All roles may.
func (r *Reminders) Member(api fiber.Router) {
	api.Post("/push", r.subscribe)
	api.Delete("/push", r.unsubscribe)
	api.Post("/feed", r.openFeed)
	api.Delete("/feed", r.closeFeed)
}

func (r *Reminders) key(c *fiber.Ctx) error { return c.JSON(fiber.Map{"key": r.SenderKey}) }

// subscription is what a browser writes when it is asked for its subscription as
// JSON (Push API, section 8).
type subscription struct {
	Endpoint string `json:"endpoint"`
	Keys     struct {
		Key    string `json:"p256dh"`
		Secret string `json:"auth"`
	} `json:"keys"`
}

func (r *Reminders) subscribe(c *fiber.Ctx) error {
	var q subscription
	if err := readJSON(c, &q); err != nil {
		return err
	}
	key, err := base64.RawURLEncoding.DecodeString(q.Keys.Key)
	if err != nil {
		return errRequest.Because(err)
	}
	secret, err := base64.RawURLEncoding.DecodeString(q.Keys.Secret)
	if err != nil {
		return errRequest.Because(err)
	}
	sub := webpush.Subscription{Endpoint: q.Endpoint, Key: key, Secret: secret}
	if err := r.Service.Subscribe(c.UserContext(), HouseholdOf(c), DeviceOf(c), sub); err != nil {
		return err
	}
	return c.SendStatus(http.StatusNoContent)
}

func (r *Reminders) unsubscribe(c *fiber.Ctx) error {
	if err := r.Service.Unsubscribe(c.UserContext(), HouseholdOf(c), DeviceOf(c)); err != nil {
		return err
	}
	return c.SendStatus(http.StatusNoContent)
}

// feedPath is where feeds are, below the API.
const feedPath = "/feed/"

func (r *Reminders) openFeed(c *fiber.Ctx) error {
	secret, err := r.Service.OpenFeed(c.UserContext(), HouseholdOf(c), DeviceOf(c))
	if err != nil {
		return err
	}
	return c.JSON(fiber.Map{"path": "/api/v1" + feedPath + secret + ".ics"})
}

func (r *Reminders) closeFeed(c *fiber.Ctx) error {
	if err := r.Service.CloseFeed(c.UserContext(), HouseholdOf(c), DeviceOf(c)); err != nil {
		return err
	}
	return c.SendStatus(http.StatusNoContent)
}

// feed answers with a calendar. A secret that opens nothing is answered like an
// address at which there never was anything.
func (r *Reminders) feed(c *fiber.Ctx) error {
	secret, isCalendar := strings.CutSuffix(c.Params("*"), ".ics")
	c.Path("/api/v1" + feedPath) // what stands behind is a secret, and paths are logged
	if !isCalendar {
		return errNotFound
	}
	body, err := r.Service.Feed(c.UserContext(), secret)
	if errors.Is(err, store.ErrNoFeed) {
		return errNotFound.Because(err)
	}
	if err != nil {
		return err
	}
	return sendBody(c, calendar.ContentType, body)
}
