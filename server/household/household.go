// Package household is what the server does for a household.
//
// A household is founded by a phone that holds a set-up token; its first signed
// batch is the household's beginning. Further phones join by an invitation that a
// keeper wrote into the log: the server lets each invitation in once and in time.
// From then on phones exchange: each hands over what it has, its own entries and
// those of other phones, and gets what it lacks. The server takes in what the
// household's own rules allow (package merge) and adds three of its own: who knocks
// with an invitation is the first and in time, a stamp is not from next year, and a log
// has one history. A batch that is refused holds up nothing but the log it belongs to.
// A phone that was revoked is nobody from the write on that says so.
//
// What the server knows of a household is its log on disk and nothing else. The
// state that decides who may write is folded from the whole log when the household
// is first asked for, which verifies every signature again; it stays in memory as
// long as there is room. Nothing is acknowledged before the store has it on disk,
// and a state whose write failed is forgotten and folded afresh.
//
// Households do not wait for each other. In one household one exchange writes at a
// time, while others read.
package household

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/store"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Returned besides the faults of oplog, hlc, wire and store.
var (
	ErrUnknown      = fault.New("household_unknown", "This server does not know this household.")
	ErrExists       = fault.New("household_exists", "This household is already on this server. Sign in, or join it by an invitation.")
	ErrIntroduction = fault.New("introduction_invalid", "This is not how a phone founds or joins a household. Nothing was changed.")
	ErrExpired      = fault.New("invitation_expired", "This invitation has run out. Ask for a new one.")
)

// Service keeps households. Its methods may be called from several goroutines.
type Service struct {
	rooms *rooms
	store store.Store
	now   func() time.Time

	// A store can have been put back only while this process did not run, so its epoch
	// is renewed at most once, whatever phones say.
	renewing sync.Mutex
	renewed  bool // guarded by renewing

	exchanges atomic.Int64 // in progress
}

// manyExchanges are more than a server has in progress unless a great many phones come
// at once, as after an outage.
const manyExchanges = 32

// Busy reports whether so many phones exchange now that whatever can wait should.
func (s *Service) Busy() bool { return s.exchanges.Load() > manyExchanges }

// New makes the service over a store.
func New(s store.Store, now func() time.Time) *Service {
	return &Service{rooms: newRooms(s, maxWeight), store: s, now: now}
}

// Exchange takes in what a device of the household hands over and answers with what
// that device lacks. What is refused is named in the answer; an error means that
// nothing was taken in.
func (s *Service) Exchange(ctx context.Context, h model.HouseholdID, d model.DeviceID, m *wire.Message) (*wire.Message, error) {
	if m.Household != h {
		return nil, oplog.ErrHousehold
	}
	s.exchanges.Add(1)
	defer s.exchanges.Add(-1)
	r := s.rooms.enter(h)
	defer s.rooms.leave(r)
	if _, _, err := memberIn(ctx, r, d); err != nil {
		return nil, err
	}
	side, err := newSide(ctx, r, s.now)
	if err != nil {
		return nil, err
	}
	if err := s.heed(ctx, m.Epoch); err != nil {
		return nil, err
	}
	var peer exchange.Peer
	if err := peer.Take(ctx, side, m); err != nil {
		return nil, err
	}
	answer, err := peer.Next(ctx, side)
	if err != nil {
		return nil, err
	}
	answer.Now, answer.Epoch = s.now().UnixMilli(), s.store.Epoch()
	return answer, nil
}

// heed takes a phone's word for it that the store had told it more under this epoch
// than it has now: it was restored from a backup. No file in a folder that was put back
// can tell that, but phones can. The new epoch makes the household's other phones, and
// those of all others, ask what else is gone.
func (s *Service) heed(ctx context.Context, told wire.Epoch) error {
	if told.IsZero() {
		return nil
	}
	s.renewing.Lock()
	defer s.renewing.Unlock()
	if s.renewed || told != s.store.Epoch() {
		return nil
	}
	err := s.store.Renew(ctx)
	if err == nil {
		s.renewed = true
	}
	if unwritten(err) {
		return nil // a full disk still serves; the phone says it again
	}
	return err
}

// DeviceKey is the public key of a device that may act for a member of the household.
// It fails with a fault only if there is no such device; of one that may not act any
// more it gives the key as well, so that the device can be told. Trouble with the store
// is another kind of error, because nobody must take it for a removed device.
func (s *Service) DeviceKey(ctx context.Context, h model.HouseholdID, d model.DeviceID) (ed25519.PublicKey, error) {
	r := s.rooms.enter(h)
	defer s.rooms.leave(r)
	var key ed25519.PublicKey
	err := r.read(ctx, func(st *merge.State) error {
		key, _ = st.Key(d)
		return st.Access(d)
	})
	switch fault.CodeOf(err) {
	case "", ErrUnknown.Code, oplog.ErrStranger.Code, oplog.ErrRevoked.Code, oplog.ErrUsed.Code:
		return key, err
	}
	return nil, fmt.Errorf("find device key: %v", err)
}

// Member says whose device it is and what that member may do.
func (s *Service) Member(ctx context.Context, h model.HouseholdID, d model.DeviceID) (model.MemberID, model.Role, error) {
	r := s.rooms.enter(h)
	defer s.rooms.leave(r)
	return memberIn(ctx, r, d)
}

func memberIn(ctx context.Context, r *room, d model.DeviceID) (m model.MemberID, role model.Role, err error) {
	err = r.read(ctx, func(st *merge.State) error {
		m, role = st.Member(d), st.Role(d)
		return st.Access(d)
	})
	return m, role, err
}

// Look lets f read the household as it is now, for as long as f runs, while nobody
// changes it. f must not keep anything of the state.
func (s *Service) Look(ctx context.Context, h model.HouseholdID, f func(*merge.State) error) error {
	r := s.rooms.enter(h)
	defer s.rooms.leave(r)
	return r.alone(ctx, f)
}

// Glance is Look for whoever goes through many households. One that nobody else uses is
// not kept in memory afterwards.
func (s *Service) Glance(ctx context.Context, h model.HouseholdID, f func(*merge.State) error) error {
	r := s.rooms.glance(h)
	defer s.rooms.leave(r)
	return r.alone(ctx, f)
}

// Digest is the digest of the household's state. Phones that hold the same entries
// have the same digest.
func (s *Service) Digest(ctx context.Context, h model.HouseholdID) (sum [32]byte, err error) {
	err = s.Look(ctx, h, func(st *merge.State) error {
		sum, err = st.Digest()
		return err
	})
	return sum, err
}
