package notify

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/server/household"
	"leafturn/server/notify/calendar"
	"leafturn/server/store"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// secretBytes make the secret of a feed: nobody guesses it, and whoever has it reads
// the feed.
const secretBytes = 32

func sumOf(secret string) store.FeedSum { return sha256.Sum256([]byte(secret)) }

// OpenFeed makes the secret of the feed of a device's member. It is told once; an
// earlier one opens nothing any more.
func (s *Service) OpenFeed(ctx context.Context, h model.HouseholdID, d model.DeviceID) (secret string, err error) {
	m, err := s.memberOf(ctx, h, d)
	if err != nil {
		return "", err
	}
	b := make([]byte, secretBytes)
	rand.Read(b) // never fails: crypto/rand ends the process instead
	secret = base64.RawURLEncoding.EncodeToString(b)
	return secret, s.Store.OpenFeed(ctx, store.Feed{Household: h, Member: m}, sumOf(secret))
}

// CloseFeed lets no secret open the feed of a device's member.
func (s *Service) CloseFeed(ctx context.Context, h model.HouseholdID, d model.DeviceID) error {
	m, err := s.memberOf(ctx, h, d)
	if err != nil {
		return err
	}
	return s.Store.CloseFeed(ctx, store.Feed{Household: h, Member: m})
}

func (s *Service) memberOf(ctx context.Context, h model.HouseholdID, d model.DeviceID) (m model.MemberID, err error) {
	err = s.Households.Look(ctx, h, func(st *merge.State) error {
		if st.Role(d) == 0 {
			return oplog.ErrStranger
		}
		m = st.Member(d)
		return nil
	})
	return m, err
}

// Feed is the calendar that a secret opens. It returns store.ErrNoFeed if that is
// none, and also once its member has left.
func (s *Service) Feed(ctx context.Context, secret string) ([]byte, error) {
	f, err := s.Store.Feed(ctx, sumOf(secret))
	if err != nil {
		return nil, err
	}
	var c *calendar.Calendar
	err = s.Households.Look(ctx, f.Household, func(st *merge.State) error {
		m := st.Book().Members[f.Member]
		now := newClock(s.now(), s.zones.of(st.Book().Household.Zone))
		if m == nil || !belongs(st, m.ID) || ended(m, now.today) {
			return store.ErrNoFeed
		}
		c = feedOf(st, m, now)
		return nil
	})
	if errors.Is(err, household.ErrUnknown) {
		err = store.ErrNoFeed.Because(err)
	}
	if err != nil {
		return nil, err
	}
	return c.Encode(), nil
}

// belongs reports whether any device writes for a member.
func belongs(st *merge.State, m model.MemberID) bool {
	for _, d := range st.Devices() {
		if st.Member(d) == m && st.Role(d) != 0 {
			return true
		}
	}
	return false
}

// feedOf makes the calendar of a member's open tasks. A task that is late stands on
// today, where it is seen.
func feedOf(st *merge.State, m *model.Member, now clock) *calendar.Calendar {
	b := st.Book()
	c := &calendar.Calendar{Name: feedName}
	edition := editionOf(st, now)
	a := agenda.Derive(b, now.now, now.zone)
	for _, t := range a.For(m, a.Open()) {
		c.Events = append(c.Events, calendar.Event{
			UID:      t.ID.String(),
			Day:      max(t.When(), now.today),
			Summary:  summary(b, t),
			Details:  details(t),
			Estimate: t.Projected,
			Sequence: edition.number,
			Changed:  edition.since.In(now.zone),
		})
	}
	return c
}

// edition numbers what a household's feeds say. They change when the household does,
// and when a day begins; both only go up, and so does the number. It is the same for
// everybody who knows the same on the same day, and nothing of it need be kept.
type edition struct {
	number int
	since  model.Instant
}

func editionOf(st *merge.State, now clock) edition {
	e := edition{since: now.today.Start(now.zone)}
	for _, seq := range st.Vector() {
		e.number += int(seq)
	}
	for i, d := range st.Devices() {
		if since := st.Book().Devices[d].Since; i == 0 { // the founder's
			e.number += now.today.Sub(since.Date(now.zone))
		}
	}
	if last := model.Instant(st.Stamp().Millis()); last <= now.now {
		e.since = max(e.since, last)
	}
	return e
}
