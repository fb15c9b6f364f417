// Package notify tells people what is due, through their phones and their calendars.
//
// A note is a short message to the phones of one person about one day. Three kinds
// exist: the digest, at the person's own hour; the evening note, if the person wants
// one and something is still open; and the withdrawal, once everything that a note
// was about is done, by whoever did it. Once half of it is done the note is sent again
// with what is left, and not more than once a day: it takes the place of the one on the
// screen. A note says how much is due and never what:
// its reader is a phone that knows the household and finds the words itself. All
// notes of one person and day have one topic, so that a later one replaces an
// earlier one, on its way and on the screen.
//
// A note is sent to a phone at least once while its day lasts, and a repetition
// shows only once. The choice is between forgetting and repeating, because nobody
// can know whether a message that was cut off has arrived: what was said is
// remembered after it was said, and a server that was killed in between says it
// again under the same topic. In all other cases a note is sent once. Two servers
// on one store keep apart by claims with a fence, see store.Rota.
//
// When to look at a household is planned: its rota holds the next moment at which
// somebody's hour comes, and nothing is derived before, unless the household
// changes. Hours are those of the wall clock in the household's zone. An hour that
// the clocks skip comes when they go on; of an hour that comes twice, the first
// counts. A person's civil day is told of once, whatever clocks and zones do. Who is
// told late, because the server was away or because the wish is new, is told at once
// if the day is not over.
//
// A feed is a calendar of one person's tasks, at an address that is a secret.
package notify

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/notify/webpush"
	"leafturn/server/store"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// ErrSubscription is returned for a subscription to which nothing can be sent.
var ErrSubscription = fault.New("subscription_invalid", "This server cannot send messages to this browser. Everything else works; look at the list of tasks instead.")

// Households lets notes be made from what the server knows.
type Households interface {
	// Look lets f read a household while nobody changes it.
	Look(ctx context.Context, h model.HouseholdID, f func(*merge.State) error) error
	// Glance is Look, for going through many of them.
	Glance(ctx context.Context, h model.HouseholdID, f func(*merge.State) error) error
}

// Store is what is remembered, and the logs that it is about.
type Store interface {
	store.Reminders
	Log(h model.HouseholdID) oplog.Log
}

// Pusher sends messages; a *webpush.Client is one.
type Pusher interface {
	Send(ctx context.Context, s webpush.Subscription, m webpush.Message) error
}

// Config is what a service is made of. All of it is needed.
type Config struct {
	Store      Store
	Households Households
	Push       Pusher
	Check      func(webpush.Subscription) error // whether a subscription may be called
	Now        func() time.Time
	Log        *slog.Logger
}

// Service tells people what is due. Its methods may be called from several
// goroutines.
type Service struct {
	Config
	zones   zones
	workers chan struct{} // holds one for each that works
	work    sync.WaitGroup

	mu      sync.Mutex
	changed map[model.HouseholdID]struct{} // guarded by mu; not yet woken
	last    model.Instant                  // guarded by mu; when it was last tidied up
}

// New makes a service, which sends nothing before Run.
func New(cfg Config) *Service {
	return &Service{Config: cfg, workers: make(chan struct{}, maxWorkers), changed: map[model.HouseholdID]struct{}{}}
}

func (s *Service) now() model.Instant { return model.InstantOf(s.Now()) }

// Subscribe lets a device's messages go to a subscription, in place of an earlier
// one.
func (s *Service) Subscribe(ctx context.Context, h model.HouseholdID, d model.DeviceID, sub webpush.Subscription) error {
	if err := s.Check(sub); err != nil {
		return ErrSubscription.Because(err)
	}
	return s.Store.Subscribe(ctx, store.Phone{Household: h, Device: d, Endpoint: sub.Endpoint, Key: sub.Key, Secret: sub.Secret}, s.now())
}

// Unsubscribe sends a device no more messages.
func (s *Service) Unsubscribe(ctx context.Context, h model.HouseholdID, d model.DeviceID) error {
	return s.Store.Unsubscribe(ctx, h, d, "")
}
