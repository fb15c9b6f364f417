package store

import (
	"context"
	"errors"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
)

// Phone is where a device takes messages: its endpoint at a push service, and what
// messages to it are encrypted for (see package webpush).
type Phone struct {
	Household model.HouseholdID
	Device    model.DeviceID
	Endpoint  string
	Key       []byte
	Secret    []byte
}

// Feed says whose tasks a calendar feed shows.
type Feed struct {
	Household model.HouseholdID
	Member    model.MemberID
}

// FeedSum is the SHA-256 of a feed's secret. The secret itself is not kept.
type FeedSum [32]byte

// Rota is what the server remembers about reminding one household. A household has
// one as soon as one of its devices takes messages.
//
// Whoever wants to remind a household claims its rota. The claim raises the fence;
// only the holder of the highest fence may settle the rota, so of two servers, or of
// a server and its earlier self that was held up for long, one prevails. A claim that
// is never settled runs out and the rota can be claimed again.
type Rota struct {
	Household model.HouseholdID
	Next      model.Instant // when to look at the household again; 0 for not until it is woken
	Fence     uint64
	Mark      string // names what was known when the household was last looked at
	Told      []Told // in no particular order
}

// Told is what a device was told on a day, and what it could not be told.
type Told struct {
	Device model.DeviceID
	Day    model.Date
	Said   uint8         // a set of package notify's own
	Tries  int           // in vain, since something was last said
	Again  model.Instant // not before, after a try in vain
	Shown  int           // how many tasks its note names
}

// LongestLease is how long a claim may last. What claims to last longer comes from a
// clock that was wrong, and lasts no longer.
const LongestLease = 10 * time.Minute

// Reminders keeps what reminding people takes. Its methods return, besides what
// stands at each, the errors of Store; they return the error of ctx only if nothing
// was written.
type Reminders interface {
	// Subscribe keeps a phone, in place of what was kept for its device, and wakes
	// its household at a moment, see Wake.
	Subscribe(ctx context.Context, p Phone, at model.Instant) error

	// Unsubscribe forgets a phone. With an endpoint it forgets the phone only if that
	// is still its endpoint. To forget what is not there is no error.
	Unsubscribe(ctx context.Context, h model.HouseholdID, d model.DeviceID, endpoint string) error

	// Phones gives the phones of a household, by device.
	Phones(ctx context.Context, h model.HouseholdID) ([]Phone, error)

	// OpenFeed lets a secret open a member's feed, in place of the member's earlier
	// secret.
	OpenFeed(ctx context.Context, f Feed, secret FeedSum) error

	// CloseFeed lets no secret open the member's feed. To close it twice is no error.
	CloseFeed(ctx context.Context, f Feed) error

	// Feed says what a secret opens. It returns ErrNoFeed if that is nothing.
	Feed(ctx context.Context, secret FeedSum) (Feed, error)

	// Wake lets a household be claimed from a moment on, if it could not be claimed
	// earlier anyway. If it is claimed now, it can be again once it is settled. A
	// household without a rota is not woken.
	Wake(ctx context.Context, h model.HouseholdID, at model.Instant) error

	// Claim takes at most so many rotas whose next moment has come, the earliest
	// first, until the lease ends, which must be within LongestLease. Nobody else
	// gets them until then, unless they are settled before.
	Claim(ctx context.Context, now, leaseEnds model.Instant, most int) ([]Rota, error)

	// Settle keeps a rota that was claimed, and ends the claim. It returns ErrFenced,
	// and changes nothing, if the rota was claimed anew since, or settled.
	Settle(ctx context.Context, r Rota) error

	// Rotas calls f for every household of which a phone is kept, in a fixed order.
	// A rota that would never be claimed, because a row was lost, comes with Next 0.
	Rotas(ctx context.Context, f func(Rota) error) error
}

// Returned by Reminders.
var (
	ErrNoFeed = fault.New("feed_unknown", "There is nothing at this address.")
	ErrFenced = errors.New("somebody else has claimed the household since")
)
