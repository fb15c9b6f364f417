package household_test

import (
	"context"
	"encoding/hex"
	"errors"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

var ctx = context.Background()

// clock is a clock that stands still until a test moves it.
type clock struct {
	mu sync.Mutex
	t  time.Time // guarded by mu
}

func newClock() *clock { return &clock{t: time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)} }

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// gate is a disk that is full when a test says so.
type gate struct{ full error }

func (g *gate) Check() error { return g.full }

// world is a server without a network.
type world struct {
	*household.Service
	clock *clock
	gate  *gate
	db    *badgerdb.DB
}

func newWorld(t testing.TB) *world {
	w := &world{clock: newClock(), gate: &gate{}}
	var err error
	w.db, err = badgerdb.Open(t.TempDir(), badgerdb.Config{Gate: w.gate, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, w.db.Close()) })
	w.restart()
	return w
}

// restart forgets everything that is not in the store.
func (w *world) restart() { w.Service = household.New(w.db, w.clock.now) }

func free(found func() error) error { return found() }

// founded is a phone whose household is on the server.
func (w *world) founded(t testing.TB, seed byte) *phonetest.Phone {
	t.Helper()
	p := phonetest.Found(t, seed, w.clock.now)
	_, err := w.Found(ctx, p.Introduction(), free)
	require.NoError(t, err)
	return p
}

// sendAs gives the way by which a device reaches the server.
func (w *world) sendAs(p *phonetest.Phone) func(*wire.Message) (*wire.Message, error) {
	return func(m *wire.Message) (*wire.Message, error) { return w.Exchange(ctx, p.Household(), p.Device(), m) }
}

func (w *world) sync(t testing.TB, p *phonetest.Phone) {
	t.Helper()
	refused, err := p.Sync(w.sendAs(p))
	require.NoError(t, err)
	require.Empty(t, refused)
}

// joined is a further phone of the household.
func (w *world) joined(t testing.TB, host *phonetest.Phone, seed byte) *phonetest.Phone {
	t.Helper()
	i := host.Invite(t, seed+100, 15*time.Minute)
	w.sync(t, host)
	p := phonetest.Join(t, seed, w.clock.now, i)
	_, err := w.Join(ctx, p.Introduction())
	require.NoError(t, err)
	w.sync(t, p)
	return p
}

func (w *world) digest(t testing.TB, p *phonetest.Phone) string {
	t.Helper()
	sum, err := w.Digest(ctx, p.Household())
	require.NoError(t, err)
	return hex.EncodeToString(sum[:])
}

func TestTwoPhonesComeToTheSameState(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	for i := range 30 {
		a.Look(t, byte(1+i))
		b.Look(t, byte(100+i))
	}
	w.sync(t, a)
	w.sync(t, b)
	w.sync(t, a)
	require.Equal(t, a.Digest(t), b.Digest(t))
	require.Equal(t, a.Digest(t), w.digest(t, a))

	w.restart() // the state comes from the disk alone
	require.Equal(t, a.Digest(t), w.digest(t, a))
	member, role, err := w.Member(ctx, b.Household(), b.Device())
	require.NoError(t, err)
	require.Equal(t, model.Helper, role)
	require.Equal(t, b.State.Member(b.Device()), member)
	key, err := w.DeviceKey(ctx, b.Household(), b.Device())
	require.NoError(t, err)
	require.Equal(t, b.Key.Public(), key)
}

// A phone may hand over the log of another one, also of one that the server has
// never seen.
func TestAMemberHandsOverAnothersLog(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := phonetest.Join(t, 2, w.clock.now, a.Invite(t, 102, 15*time.Minute))
	refused, err := a.Take(ctx, b.Introduction().Batches)
	require.NoError(t, err)
	require.Empty(t, refused)
	w.clock.advance(24 * time.Hour) // the invitation has run out, but a vouches for b
	w.sync(t, a)
	key, err := w.DeviceKey(ctx, b.Household(), b.Device())
	require.NoError(t, err)
	require.Equal(t, b.Key.Public(), key)
}

func TestStrangersAndWrongHouseholds(t *testing.T) {
	w := newWorld(t)
	a, other := w.founded(t, 1), w.founded(t, 2)
	_, err := w.Exchange(ctx, a.Household(), a.Device(), other.Message())
	require.ErrorIs(t, err, oplog.ErrHousehold)
	_, err = w.Exchange(ctx, a.Household(), other.Device(), a.Message())
	require.ErrorIs(t, err, oplog.ErrStranger)
	_, err = w.DeviceKey(ctx, a.Household(), other.Device())
	require.ErrorIs(t, err, oplog.ErrStranger)
	_, err = w.DeviceKey(ctx, model.HouseholdID{9}, a.Device())
	require.ErrorIs(t, err, household.ErrUnknown)
	_, _, err = w.Member(ctx, a.Household(), other.Device())
	require.ErrorIs(t, err, oplog.ErrStranger)
}

// refusedAs sends batches and gives the codes of what was refused.
func refusedAs(t *testing.T, w *world, p *phonetest.Phone, batches ...*oplog.Batch) []wire.Refused {
	t.Helper()
	answer, err := w.Exchange(ctx, p.Household(), p.Device(), p.Message(batches...))
	require.NoError(t, err)
	return answer.Refused
}

func TestAForkIsRefusedAndTheRestFlows(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	w.sync(t, a)
	twin := a.Twin(t)
	a.Look(t, 1)
	a.Look(t, 2)
	w.sync(t, a)
	before := w.digest(t, a)

	longer, short := twin.Twin(t), twin
	old := short.Look(t, 9)                                                                            // lies inside what is kept
	next := []*oplog.Batch{longer.Look(t, 8), longer.Look(t, 7), longer.Look(t, 6), longer.Look(t, 5)} // goes past it
	fine := b.Look(t, 3)
	for name, forked := range map[string][]*oplog.Batch{"inside": {old}, "past": next} {
		t.Run(name, func(t *testing.T) {
			refused := refusedAs(t, w, b, append(forked[:len(forked):len(forked)], fine)...)
			require.NotEmpty(t, refused)
			for _, r := range refused {
				require.Equal(t, a.Device(), r.Device)
			}
			require.Equal(t, oplog.ErrFork.Code, refused[0].Code)
		})
	}
	require.NotEqual(t, before, w.digest(t, a), "what b wrote was taken in")
	w.sync(t, a)
	w.sync(t, b)
	require.Equal(t, a.Digest(t), b.Digest(t))
	require.Equal(t, a.Digest(t), w.digest(t, a), "the first branch stands")
}

// A message may repeat a batch, and even bring two histories at once.
func TestRepeatsWithinOneMessage(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	one, two := a.Look(t, 1), a.Look(t, 2)
	require.Empty(t, refusedAs(t, w, a, one, two, one, two))
	require.Equal(t, a.Digest(t), w.digest(t, a))

	b := w.founded(t, 2)
	twin := b.Twin(t)
	one, two, other := b.Look(t, 1), b.Look(t, 2), twin.Look(t, 9)
	refused := refusedAs(t, w, b, one, two, other)
	require.Len(t, refused, 1)
	require.Equal(t, oplog.ErrFork.Code, refused[0].Code)
	require.Equal(t, b.Digest(t), w.digest(t, b))
}

func TestAClockAYearAheadIsRefused(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	w.sync(t, a)
	b.Clock.Observe(hlc.Of(w.clock.now().AddDate(2, 0, 0).UnixMilli(), 0))
	absurd, fine := b.Look(t, 1), a.Look(t, 2)
	refused := refusedAs(t, w, a, absurd, fine)
	require.Len(t, refused, 1)
	require.Equal(t, hlc.ErrAbsurd.Code, refused[0].Code)
	require.Equal(t, b.Device(), refused[0].Device)
	require.Equal(t, a.Digest(t), w.digest(t, a))
}

func TestTheAnswerTellsTheTime(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	w.clock.advance(time.Minute)
	answer, err := w.Exchange(ctx, a.Household(), a.Device(), a.Message())
	require.NoError(t, err)
	require.Equal(t, w.clock.now().UnixMilli(), answer.Now)
}

// While the disk is full nothing is taken in, and phones still read.
func TestAFullDisk(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	w.sync(t, a)
	a.Look(t, 1)
	before := w.digest(t, a)
	w.gate.full = errors.New("no room")
	_, err := a.Sync(w.sendAs(a))
	require.ErrorIs(t, err, w.gate.full)
	require.Equal(t, before, w.digest(t, a))
	w.sync(t, b)

	w.gate.full = nil
	w.sync(t, a)
	require.Equal(t, a.Digest(t), w.digest(t, a))
}

func (c *clock) stamp() hlc.Stamp { return hlc.Of(c.now().UnixMilli(), 0) }
