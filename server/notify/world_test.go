package notify_test

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/server/store"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

var quiet = slog.New(slog.DiscardHandler)

type roomy struct{}

func (roomy) Check() error { return nil }

// wall is a clock that stands still until a test moves it.
type wall struct {
	mu sync.Mutex
	t  time.Time // guarded by mu
}

func (w *wall) now() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.t
}

func (w *wall) set(t time.Time) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.t = t
}

func (w *wall) advance(d time.Duration) { w.set(w.now().Add(d)) }

// sent is a note as it came to a push service.
type sent struct {
	at       time.Time
	endpoint string
	topic    string
	ttl      time.Duration
	note     notify.Note
}

// post is a push service that notes what it is given. It is not encrypted on the
// way; package webpush is about that.
type post struct {
	wall *wall

	mu     sync.Mutex
	sent   []sent                      // guarded by mu
	answer func(webpush.Message) error // guarded by mu; nil takes everything
}

func (p *post) Send(_ context.Context, s webpush.Subscription, m webpush.Message) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.answer != nil {
		if err := p.answer(m); err != nil {
			return err
		}
	}
	var n notify.Note
	if err := json.Unmarshal(m.Text, &n); err != nil {
		return err
	}
	p.sent = append(p.sent, sent{p.wall.now(), s.Endpoint, m.Topic, m.TTL, n})
	return nil
}

func (p *post) answers(f func(webpush.Message) error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.answer = f
}

// taken gives what came since the last call, in order.
func (p *post) taken() []sent {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := p.sent
	p.sent = nil
	return out
}

// world is a server with one household in one zone, whose person has a phone, a
// place and a plant, and a round of it due.
type world struct {
	t       testing.TB
	wall    *wall
	zone    *time.Location
	db      *badgerdb.DB
	service *household.Service
	notes   *notify.Service
	post    *post
	phone   *phonetest.Phone
}

const placeSeed, plantSeed = 0x51, 0x52

func newWorld(t testing.TB, zoneName, start string) *world {
	w := &world{t: t, wall: &wall{}, zone: zone(t, zoneName)}
	w.wall.set(w.time(start))
	w.post = &post{wall: w.wall}
	var err error
	w.db, err = badgerdb.Open(t.TempDir(), badgerdb.Config{Gate: roomy{}, Log: quiet})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, w.db.Close()) })
	w.service = household.New(w.db, w.wall.now)
	w.notes = w.server(w.db, w.post)
	w.phone = phonetest.Found(t, 1, w.wall.now)
	_, err = w.service.Found(t.Context(), w.phone.Introduction(), func(found func() error) error { return found() })
	require.NoError(t, err)
	w.set(model.KindHousehold, w.phone.Household().UUID(), model.HouseholdZone, model.Text(zoneName))
	w.set(model.KindPlace, w.place().UUID(), model.PlaceName, model.Text("Kitchen window"))
	w.set(model.KindPlant, uuid.UUID{plantSeed}, model.PlantPlace, model.IDValue(w.place()))
	return w
}

// server is one more server on the store.
func (w *world) server(s notify.Store, p notify.Pusher) *notify.Service {
	n := notify.New(notify.Config{
		Store: s, Households: w.service, Push: p, Check: func(webpush.Subscription) error { return nil }, Now: w.wall.now, Log: quiet,
	})
	w.service.OnChange(n.Changed)
	return n
}

func (w *world) place() model.PlaceID { return model.PlaceID{placeSeed} }

// time reads a moment as the household's wall clock shows it.
func (w *world) time(s string) time.Time {
	w.t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", s, w.zone)
	require.NoError(w.t, err)
	return at
}

// sync lets a phone hand over what it wrote.
func (w *world) sync(p *phonetest.Phone) {
	w.t.Helper()
	refused, err := p.Sync(func(m *wire.Message) (*wire.Message, error) {
		return w.service.Exchange(w.t.Context(), p.Household(), p.Device(), m)
	})
	require.NoError(w.t, err)
	require.Empty(w.t, refused)
}

// set sets a field of a record, from the founder's phone.
func (w *world) set(k model.Kind, id uuid.UUID, f model.Field, v model.Value) {
	w.t.Helper()
	w.phone.Write(w.t, &oplog.Set{Record: model.Ref{Kind: k, ID: id}, Fields: []oplog.Setting{{Key: model.FieldKey{Field: f}, Value: v}}})
	w.sync(w.phone)
}

// wish sets a wish of a phone's member.
func (w *world) wish(p *phonetest.Phone, f model.Field, v int) {
	w.t.Helper()
	value := model.Int(v)
	if f == model.MemberEvening {
		value = model.Bool(v != 0)
	}
	w.set(model.KindMember, p.State.Member(p.Device()).UUID(), f, value)
}

// another is a phone of one more member, whose digest comes at an hour.
func (w *world) another(seed byte, digestAt int) *phonetest.Phone {
	w.t.Helper()
	i := w.phone.Invite(w.t, 100+seed, time.Hour)
	w.sync(w.phone)
	p := phonetest.Join(w.t, seed, w.wall.now, i)
	_, err := w.service.Join(w.t.Context(), p.Introduction())
	require.NoError(w.t, err)
	w.sync(p)
	w.sync(w.phone)
	w.wish(p, model.MemberDigestAt, digestAt)
	w.sync(p)
	return p
}

func endpointOf(p *phonetest.Phone) string { return "https://push.example.net/" + p.Device().String() }

func (w *world) subscribe(p *phonetest.Phone) {
	w.t.Helper()
	require.NoError(w.t, w.notes.Subscribe(w.t.Context(), p.Household(), p.Device(), webpush.Subscription{Endpoint: endpointOf(p)}))
}

// lookThrough writes that the round is done.
func (w *world) lookThrough(p *phonetest.Phone, ordinal uint32) {
	w.t.Helper()
	round := model.TaskKey{Rule: model.RuleRound, Subject: w.place().UUID(), Ordinal: ordinal}
	at := model.Instant(w.wall.now().UnixMilli())
	p.Write(w.t, &model.Fact{At: at, By: p.State.Member(p.Device()), Body: &model.TaskCompleted{Task: round}})
	w.sync(p)
}

// until lets time pass, a minute at a time.
func (w *world) until(s string, servers ...*notify.Service) {
	w.t.Helper()
	if len(servers) == 0 {
		servers = []*notify.Service{w.notes}
	}
	for end := w.time(s); w.wall.now().Before(end); w.wall.advance(time.Minute) {
		for _, n := range servers {
			n.Round(w.t.Context())
		}
	}
}

// passing lets time pass as until does, but leaps over what no rota plans.
func (w *world) passing(s string) {
	w.t.Helper()
	for end := w.time(s); w.wall.now().Before(end); {
		w.notes.Round(w.t.Context())
		next := w.next()
		if next == 0 || !next.In(w.zone).Before(end) {
			w.wall.set(end)
			return
		}
		w.wall.set(next.In(w.zone))
	}
}

// next is when the household is to be looked at again.
func (w *world) next() (next model.Instant) {
	w.t.Helper()
	require.NoError(w.t, w.db.Rotas(w.t.Context(), func(r store.Rota) error { next = r.Next; return nil }))
	return next
}

// said is what came, as text: when by the wall clock, what, and how many tasks.
func (w *world) said() []string {
	out := []string{}
	for _, s := range w.post.taken() {
		out = append(out, fmt.Sprintf("%s %s %d", s.at.In(w.zone).Format("01-02 15:04"), s.note.Kind, s.note.Due))
	}
	slices.Sort(out)
	return out
}
