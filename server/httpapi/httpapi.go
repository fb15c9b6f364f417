// Package httpapi is the server's face to phones: routes, status codes, headers.
//
// It decides nothing about plants or logs. A handler reads a request, asks a use
// case, and writes the answer; a fault with its code and words becomes a status by
// one table. Three kinds of routes exist. Public ones are for anybody. Member
// routes lie below /api/v1/households/{hh} and are for devices of that household
// with a token; for everybody else, the household does not exist. All other paths
// are files of the phone app.
//
// The handlers of one subject are mounted through a Mount, so that they do not
// know each other. The routes are described in openapi.yaml, and a test compares.
package httpapi

import (
	"cmp"
	"log/slog"
	"net/netip"
	"time"

	"github.com/gofiber/fiber/v2"

	"leafturn/server/auth"
	"leafturn/server/webapp"
)

// Mount adds the handlers of one subject to a router.
type Mount func(fiber.Router)

// Config is what the app is made of. Auth, App, Log and Now are needed.
type Config struct {
	Auth *auth.Service
	App  *webapp.Bundle
	Log  *slog.Logger // must keep secrets out by itself
	Now  func() time.Time

	Public []Mount // below /api/v1, for anybody
	Member []Mount // below /api/v1/households/:hh, see HouseholdOf and DeviceOf

	Limits  Limits
	Memory  int64          // bytes for large bodies and answers, all together; 0 means the default
	Proxies []netip.Prefix // whose X-Forwarded-For is believed
}

// Limits are how many requests one address may make in a minute; 0 means the
// default.
type Limits struct {
	SignIn int // to the routes below auth
	Join   int // to found and join, together
}

// What the phones behind a home's one address need, many times over.
const (
	DefaultSignIn = 300
	DefaultJoin   = 30
)

// Whoever sends or reads slowly holds a connection no longer than this. A phone on
// a bad line needs a minute for the app itself, the largest thing it fetches, and
// sends parts that fit the shorter time.
const (
	readTimeout  = 12 * time.Second
	writeTimeout = 60 * time.Second
	idleTimeout  = 60 * time.Second

	// Each connection takes a few kilobytes, and more by ration.
	maxConnections = 4096
)

// server is what the handlers of this package share.
type server struct {
	auth    *auth.Service
	app     *webapp.Bundle
	log     *slog.Logger
	proxies []netip.Prefix
	ration  *ration
}

// New makes the app with all its routes.
func New(cfg Config) *fiber.App {
	s := &server{auth: cfg.Auth, app: cfg.App, log: cfg.Log, proxies: cfg.Proxies, ration: newRation(cmp.Or(cfg.Memory, rationBytes))}
	app := fiber.New(fiber.Config{
		AppName:      "Leafturn",
		ErrorHandler: s.fail,

		// Values from a request must not change when the next one comes in.
		Immutable: true,
		// Nobody posts forms; parsing one before a handler runs is work for an attacker.
		DisablePreParseMultipartForm: true,
		DisableStartupMessage:        true,

		StreamRequestBody: true, // and never without bodies, which says what that means

		ReadTimeout:  readTimeout,
		WriteTimeout: writeTimeout,
		IdleTimeout:  idleTimeout,
		Concurrency:  maxConnections,
	})
	app.Server().KeepHijackedConns = true // streams close theirs, see Events
	app.Use(s.identify, s.note, s.recoverPanic, secure, s.bodies, refuseEncoded)
	app.Get("/healthz", health)
	s.mountAPI(app.Group("/api/v1", noStore), cfg)
	app.Use("/api", func(*fiber.Ctx) error { return errNotFound })
	app.Get("/*", s.file)
	return app
}

func (s *server) mountAPI(api fiber.Router, cfg Config) {
	api.Use("/auth", s.limit(cmp.Or(cfg.Limits.SignIn, DefaultSignIn), cfg.Now))
	join := s.limit(cmp.Or(cfg.Limits.Join, DefaultJoin), cfg.Now)
	api.Use("/found", join)
	api.Use("/join", join)

	api.Post("/auth/challenge", s.challenge)
	api.Post("/auth/token", s.token)
	api.Get("/zone/*", zone)
	for _, mount := range cfg.Public {
		mount(api)
	}
	members := api.Group("/households/:hh", s.bearer)
	for _, mount := range cfg.Member {
		mount(members)
	}
}

func health(c *fiber.Ctx) error {
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.JSON(fiber.Map{"status": "ok"})
}
