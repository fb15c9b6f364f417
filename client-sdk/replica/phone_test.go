package replica_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

var ctx = context.Background()

// tester is what rapid and testing have in common.
type tester interface {
	require.TestingT
	Helper()
}

// clock goes on by itself, and never stands still.
type clock struct {
	mu sync.Mutex
	at int64
}

func newClock() *clock { return &clock{at: 1_790_000_000_000} }

func (c *clock) now() int64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at += 3
	return c.at
}

func (c *clock) pass(millis int64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at += millis
}

// fate is what becomes of a request.
type fate int

const (
	arrives     fate = iota
	requestLost      // the server never sees it
	answerLost       // the server has done it, the phone does not know
	halfArrives      // the connection breaks in the middle of the request's body
	answerCut        // the answer's body is cut short, and nobody notices before it is read
	signedOut        // the token has run out
	inTrouble        // the server fails
	fates
)

func (f fate) String() string {
	return [...]string{"arrives", "request lost", "answer lost", "request half arrives", "answer cut", "signed out", "server in trouble"}[f]
}

// line is the way to the server. Each request meets the next of its fates; when
// there are none left, all arrive.
type line struct {
	server *fakeServer
	fates  []fate
}

func (l *line) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	f := arrives
	if len(l.fates) > 0 {
		f, l.fates = l.fates[0], l.fates[1:]
	}
	switch f {
	case requestLost:
		return nil, replica.ErrOffline
	case halfArrives:
		if r.Method == "PATCH" { // only uploads keep what arrived
			r.Body = r.Body[:len(r.Body)/2]
			_, _ = l.server.Do(ctx, r)
		}
		return nil, replica.ErrOffline
	case inTrouble:
		return refusal(errInternal), nil
	case signedOut:
		l.server.signOut()
	}
	resp, err := l.server.Do(ctx, r)
	switch f {
	case answerLost:
		return nil, replica.ErrOffline
	case answerCut:
		resp.Body = resp.Body[:len(resp.Body)/2]
	}
	return resp, err
}

// phone is a replica that can be killed and opened again.
type phone struct {
	*replica.Replica
	vault  replica.Vault
	opts   replica.Options
	line   *line
	server *replica.Server
}

func newPhone(s *fakeServer, c *clock, seed byte) *phone {
	random := rand.NewChaCha8([32]byte{seed})
	opts := replica.Options{Wall: c.now, Random: random, NewID: func() uuid.UUID {
		id, _ := uuid.NewRandomFromReader(random) // it never fails
		return id
	}}
	return &phone{vault: memvault.New(), opts: opts, line: &line{server: s}}
}

func (p *phone) use(r *replica.Replica) *phone {
	p.Replica, p.server = r, r.Server(p.line)
	return p
}

// reopen kills the app and starts it again.
func (p *phone) reopen(t tester) {
	t.Helper()
	r, err := replica.Open(ctx, p.vault, p.opts)
	require.NoError(t, err)
	p.use(r)
}

func (p *phone) sync(t tester) {
	t.Helper()
	require.NoError(t, p.Sync(ctx, p.server))
	require.Nil(t, p.Status().Trouble)
}

func (p *phone) do(t tester, bodies ...any) []model.FactID {
	t.Helper()
	ids, err := p.Do(ctx, bodies...)
	require.NoError(t, err)
	return ids
}

func (p *phone) digest(t tester) string {
	t.Helper()
	d, err := p.Digest()
	require.NoError(t, err)
	return fmt.Sprintf("%x", d)
}

// founder makes the phone that founds the household, announced and synced.
func founder(t tester, s *fakeServer, c *clock) *phone {
	t.Helper()
	p := newPhone(s, c, 1)
	r, err := replica.Found(ctx, p.vault, p.opts, replica.Start{Household: "Birch Row 4", Zone: "Europe/Oslo", Member: "Ash", Phone: "Ash's phone", Setup: s.setupToken})
	require.NoError(t, err)
	p.use(r)
	require.NoError(t, p.Announce(ctx, p.server))
	p.sync(t)
	return p
}

// invited makes a phone that has joined on its own side only.
func invited(t tester, by *phone, seed byte, name string) *phone {
	t.Helper()
	i, _, err := by.Invite(ctx, model.Helper, model.MemberID{})
	require.NoError(t, err)
	by.sync(t)
	p := newPhone(by.line.server, nil, seed)
	p.opts.Wall = by.opts.Wall
	r, err := replica.Join(ctx, p.vault, p.opts, i, replica.Start{Member: name, Phone: name + "'s phone"})
	require.NoError(t, err)
	return p.use(r)
}

// joiner makes a phone that has joined, announced and synced, and has its names
// shared.
func joiner(t tester, by *phone, seed byte, name string) *phone {
	t.Helper()
	p := invited(t, by, seed, name)
	require.NoError(t, p.Announce(ctx, p.server))
	p.sync(t)
	p.sync(t)
	return p
}

// pair makes a server and two phones that know the same.
func pair(t tester) (*fakeServer, *clock, *phone, *phone) {
	t.Helper()
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	b := joiner(t, a, 2, "Elm")
	a.sync(t)
	return s, c, a, b
}

// requireSame checks that the server and the phones know the same.
func requireSame(t tester, s *fakeServer, phones ...*phone) {
	t.Helper()
	sum, err := s.household.State.Digest()
	require.NoError(t, err)
	for i, p := range phones {
		require.Equal(t, fmt.Sprintf("%x", sum), p.digest(t), "phone %d", i)
	}
}

var fern = model.PlantID{7}

func named(name string) *oplog.Set {
	return replica.Set(model.KindPlant, fern, replica.To(model.PlantName, model.Text(name)))
}

func nameOf(p *phone) (name string) {
	p.Read(func(b *model.Book) {
		if plant := b.Plants[fern]; plant != nil {
			name = plant.Name
		}
	})
	return name
}

func look(note string) *model.Fact {
	return replica.Seen(&model.Inspection{Plant: fern, Note: note})
}

// backup is what the server knows now, to restore it from.
func (s *fakeServer) backup(t tester) []*oplog.Batch {
	t.Helper()
	var all []*oplog.Batch
	for _, d := range s.household.Devices() {
		batches, err := s.household.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		all = append(all, batches...)
	}
	return all
}

func (s *fakeServer) restore(t tester, backup []*oplog.Batch) {
	t.Helper()
	s.renewed = false // it was started again
	s.household = memlog.NewReplica(s.household.Household())
	refused, err := s.household.Take(ctx, backup)
	require.NoError(t, err)
	require.Empty(t, refused)
}

// forget takes a server back to a time when it knew less: it keeps of each log only
// so many batches.
func (s *fakeServer) forget(t tester, keep func(d model.DeviceID, batches int) int) {
	t.Helper()
	s.renewed = false // it was started again
	old := s.household
	s.household = memlog.NewReplica(old.Household())
	for _, d := range old.Devices() {
		batches, err := old.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		_, err = s.household.Take(ctx, batches[:keep(d, len(batches))])
		require.NoError(t, err)
	}
}

// copyOf makes a second phone of the same vault, as a restored backup does.
func copyOf(t *testing.T, p *phone) *phone {
	t.Helper()
	id, err := p.vault.Identity(ctx)
	require.NoError(t, err)
	pending, err := p.vault.Pending(ctx)
	require.NoError(t, err)
	twin := &phone{vault: memvault.New(), opts: p.opts, line: &line{server: p.line.server}}
	require.NoError(t, twin.vault.Begin(ctx, replica.Beginning{Identity: *id}))
	heads, err := p.vault.Heads(ctx)
	require.NoError(t, err)
	for d := range heads {
		batches, err := p.vault.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		require.NoError(t, twin.vault.Append(ctx, batches))
	}
	require.NoError(t, twin.vault.AddPending(ctx, pending))
	twin.reopen(t)
	return twin
}

// brokenVault fails where it is told to.
type brokenVault struct {
	replica.Vault
	begin, succeed, replace, addPending, seal, keep error
	batches                                         func([]*oplog.Batch) []*oplog.Batch
	reads                                           int
}

var errBroken = errors.New("broken")

func (v *brokenVault) Succeed(ctx context.Context, s replica.Succession) error {
	if v.succeed != nil {
		return v.succeed
	}
	return v.Vault.Succeed(ctx, s)
}

func (v *brokenVault) Replace(ctx context.Context, x replica.Replacement) error {
	if v.replace != nil {
		return v.replace
	}
	return v.Vault.Replace(ctx, x)
}

func (v *brokenVault) Begin(ctx context.Context, b replica.Beginning) error {
	if v.begin != nil {
		return v.begin
	}
	return v.Vault.Begin(ctx, b)
}

func (v *brokenVault) AddPending(ctx context.Context, ops []replica.Pending) error {
	if v.addPending != nil {
		return v.addPending
	}
	return v.Vault.AddPending(ctx, ops)
}

func (v *brokenVault) Seal(ctx context.Context, b *oplog.Batch) error {
	if v.seal != nil {
		return v.seal
	}
	return v.Vault.Seal(ctx, b)
}

func (v *brokenVault) Keep(ctx context.Context, name string, value []byte) error {
	if v.keep != nil {
		return v.keep
	}
	return v.Vault.Keep(ctx, name, bytes.Clone(value))
}

func (v *brokenVault) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	batches, err := v.Vault.Read(ctx, d, after, maxBytes)
	v.reads += len(batches)
	if v.batches != nil {
		batches = v.batches(batches)
	}
	return batches, err
}
