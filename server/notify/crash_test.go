package notify_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/server/store"
)

// The tests of this file prove, of servers that are killed at any step:
//
//  1. a note is never forgotten while its day lasts;
//  2. a note comes a second time only if a server was killed, or held up for longer
//     than a claim lasts, after the push service took it and before that was
//     remembered, and then under the same topic;
//  3. what a phone shows in the end is what it would show if nobody was killed.

var errDead = errors.New("this server was killed")

// fragile is the store and the push service as a server sees them that is killed
// before or after one of its steps: from then on nothing it does has any effect.
type fragile struct {
	notify.Store
	push notify.Pusher

	mu    sync.Mutex
	left  int // guarded by mu; steps until it is killed
	steps int // guarded by mu; steps so far
}

// step reports whether the server is still alive.
func (f *fragile) step() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.left > 0 {
		f.left--
		f.steps++
	}
	return f.left > 0
}

func (f *fragile) dead() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.left == 0
}

// around takes two steps around what a server does to the world.
func (f *fragile) around(do func() error) error {
	if !f.step() {
		return errDead
	}
	err := do()
	if !f.step() {
		return errDead
	}
	return err
}

func (f *fragile) Send(ctx context.Context, s webpush.Subscription, m webpush.Message) error {
	return f.around(func() error { return f.push.Send(ctx, s, m) })
}

func (f *fragile) Phones(ctx context.Context, h model.HouseholdID) (out []store.Phone, err error) {
	err = f.around(func() error { out, err = f.Store.Phones(ctx, h); return err })
	return out, err
}

func (f *fragile) Wake(ctx context.Context, h model.HouseholdID, at model.Instant) error {
	return f.around(func() error { return f.Store.Wake(ctx, h, at) })
}

func (f *fragile) Claim(ctx context.Context, now, ends model.Instant, most int) (out []store.Rota, err error) {
	err = f.around(func() error { out, err = f.Store.Claim(ctx, now, ends, most); return err })
	return out, err
}

func (f *fragile) Settle(ctx context.Context, r store.Rota) error {
	return f.around(func() error { return f.Store.Settle(ctx, r) })
}

func (f *fragile) Rotas(ctx context.Context, do func(store.Rota) error) error {
	return f.around(func() error { return f.Store.Rotas(ctx, do) })
}

// family is a household of three, who all want a digest and an evening note, and
// whose round is due every day.
type family struct {
	*world
	phones []*phonetest.Phone
	day    model.Date
	rounds uint32
	window int // minutes that are looked at after an hour at which something comes

	server  *notify.Service
	second  *notify.Service // works beside it, if there is one
	fragile *fragile
	kills   int
}

func newFamily(t *testing.T) *family {
	f := &family{world: newWorld(t, "Europe/Berlin", "2026-03-14 06:00"), day: day(t, "2026-03-14"), window: 8}
	f.set(model.KindPlace, f.place().UUID(), model.PlaceRoundEvery, model.Int(1))
	f.wish(f.phone, model.MemberDigestAt, eight)
	f.phones = []*phonetest.Phone{f.phone, f.another(2, eight), f.another(3, eight)}
	for _, p := range f.phones {
		f.wish(p, model.MemberEvening, 1)
		f.subscribe(p)
	}
	return f
}

// start starts a server that is killed after so many steps.
func (f *family) start(steps int) {
	f.fragile = &fragile{Store: f.db, push: f.post, left: steps}
	f.server = f.world.server(f.fragile, f.fragile)
	f.runOnce(f.server)
}

// minutes lets time pass from an hour on; who was killed is started again a minute
// later, to be killed again after as many steps as next says.
func (f *family) minutes(hour, n int, next func() int) {
	f.wall.set(f.day.Start(f.zone).In(f.zone).Add(time.Duration(hour) * time.Hour))
	for range n {
		var both sync.WaitGroup
		if f.second != nil {
			both.Go(func() { f.second.Round(context.Background()) })
		}
		f.server.Round(f.t.Context())
		both.Wait()
		f.wall.advance(time.Minute)
		if f.fragile.dead() {
			f.kills++
			f.start(next())
		}
	}
}

// live lives through one day, on which a member does the round at noon or nobody
// does, and checks what came. It gives how many notes came more than once.
func (f *family) live(done bool, next func() int) (repeated int) {
	f.t.Helper()
	f.minutes(8, f.window, next)
	if done {
		f.rounds++
		f.lookThrough(f.phones[1], f.rounds)
	}
	f.minutes(12, f.window, next)
	f.minutes(20, f.window, next)
	want := []notify.Kind{notify.Digest, notify.Evening}
	if done {
		want = []notify.Kind{notify.Digest, notify.Withdraw}
	}
	came := map[string][]sent{}
	for _, s := range f.post.taken() {
		came[s.endpoint] = append(came[s.endpoint], s)
	}
	for _, p := range f.phones {
		var kinds []notify.Kind
		for _, s := range came[endpointOf(p)] {
			require.Equal(f.t, notify.Topic(p.Household(), p.State.Member(p.Device()), f.day), s.topic)
			require.Equal(f.t, f.day.String(), s.note.Day)
			kinds = append(kinds, s.note.Kind)
		}
		all := len(kinds)
		kinds = slices.Compact(kinds)
		require.Equal(f.t, want, kinds)
		repeated += all - len(kinds)
	}
	f.day++
	return repeated
}

const immortal = 1 << 30

// A server is killed at each step of a day, one after the other, and once only.
func TestKilledAtEveryStep(t *testing.T) {
	f := newFamily(t)
	steps := 0
	for _, done := range []bool{false, true} { // what an ordinary day takes
		f.start(immortal)
		require.Zero(t, f.live(done, nil), "nothing comes twice if nobody is killed")
		steps = max(steps, f.fragile.steps)
	}
	require.Zero(t, f.kills)
	repeated := 0
	for step := 1; step <= steps; step++ {
		f.start(step)
		n := f.live(step%2 == 0, func() int { return immortal })
		require.LessOrEqual(t, n, len(f.phones), "one household was at stake")
		repeated += n
	}
	require.GreaterOrEqual(t, f.kills, steps*9/10, "the last steps of a longer day may not come")
	require.Positive(t, repeated, "no kill came between telling and remembering: the test looks at the wrong steps")
	t.Logf("%d kills, %d notes repeated, each under its own topic", f.kills, repeated)
}

// A server is killed again and again, so that days are pieced together by several.
func TestKilledTwoHundredTimes(t *testing.T) {
	rnd := rand.New(rand.NewPCG(20260314, 8291))
	next := func() int { return 1 + rnd.IntN(30) }
	f := newFamily(t)
	f.window = 60 // a note is valid for longer than that; each kill costs a claim's time
	days := 0
	for ; f.kills < 200; days++ {
		f.start(next())
		f.live(days%2 == 0, func() int {
			if rnd.IntN(4) == 0 {
				return immortal // or nothing would ever be finished
			}
			return next()
		})
	}
	t.Logf("%d kills in %d days", f.kills, days)
}

// Two servers work on one store at the same time.
func TestTwoServersSendOnce(t *testing.T) {
	f := newFamily(t)
	f.start(immortal)
	f.second = f.world.server(f.db, f.post)
	for i := range 10 {
		require.Zero(t, f.live(i%2 == 0, nil))
	}
}

// A server is held up, as by a debugger or a machine that sleeps, for longer than a
// claim lasts, while another one does its work.
func TestHeldUpForLongerThanTheClaim(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 08:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	entered, release := make(chan struct{}), make(chan struct{})
	var once sync.Once
	w.post.answers(nil)
	slow := w.server(w.db, holdUp{w.post, func() {
		once.Do(func() { close(entered); <-release })
	}})
	ended := make(chan struct{})
	go func() { defer close(ended); slow.Round(context.Background()) }()
	<-entered
	w.notes.Round(t.Context())
	require.Empty(t, w.post.taken(), "the claim holds")
	w.wall.advance(notify.Lease + time.Minute)
	w.notes.Round(t.Context())
	first := w.post.taken()
	require.Len(t, first, 1, "the claim has run out")
	close(release)
	<-ended
	second := w.post.taken()
	require.Len(t, second, 1, "what was on its way cannot be called back")
	require.Equal(t, first[0].topic, second[0].topic)
	require.Equal(t, first[0].note, second[0].note)
	for range 10 {
		w.wall.advance(time.Minute)
		w.notes.Round(t.Context())
		slow.Round(t.Context())
	}
	require.Empty(t, w.post.taken(), "the fence kept what the second server remembers")
}

// holdUp is a push service on a way that takes long.
type holdUp struct {
	*post
	wait func()
}

func (h holdUp) Send(ctx context.Context, s webpush.Subscription, m webpush.Message) error {
	h.wait()
	return h.post.Send(ctx, s, m)
}

// A server that is told to end remembers what it said, so that the next one need not
// wait for the claim, nor say it again.
func TestToldToEndWhileTelling(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 08:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	ctx, cancel := context.WithCancel(t.Context())
	ending := w.server(w.db, holdUp{w.post, cancel})
	ending.Round(ctx)
	require.Len(t, w.post.taken(), 1)
	w.notes.Round(t.Context())
	w.until("2026-03-14 12:00")
	require.Empty(t, w.post.taken())
}
