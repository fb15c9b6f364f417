// Package replica is a phone's whole side of Leafturn: its log, the state folded
// from everybody's logs, what waits to be sent, and its photos. The phone app is
// built on it, and so can scripts and tests be.
//
// Found, Join or Open gives a Replica. Do writes operations: when it returns, they
// are safe on this phone. Read looks at the household as it is now. Sync, through a
// Server, sends what waits and brings what others wrote; it can fail at any point
// and be tried again. Nothing here needs a network but Sync and what is named so.
package replica

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"io"
	"sync"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// Options are the seams of a replica. All must be set.
type Options struct {
	Wall   func() int64 // Unix milliseconds by the phone's own clock
	Random io.Reader    // for keys and nonces
	NewID  func() uuid.UUID
}

// Replica is one household on one phone. It is safe for concurrent use.
type Replica struct {
	vault    Vault
	opts     Options
	piece    int      // bytes of a log that are read at a time
	identity Identity // its seed is that of the key it began with
	clock    *hlc.Clock

	syncing sync.Mutex       // held during a Sync, taken before mu
	forks   []model.DeviceID // guarded by syncing: logs of others of which the last server had another history

	// Who this phone is changes rarely, see Move: under all three locks, so that holding
	// any of them is enough to read it.
	who    sync.RWMutex // taken last
	key    ed25519.PrivateKey
	device model.DeviceID

	mu      sync.Mutex
	state   *merge.State // guarded by mu
	pending [][]byte     // guarded by mu: own operations after sealed
	sealed  oplog.Head   // guarded by mu: head of the signed part of the own log
	fresh   int          // guarded by mu: operations folded in since the last snapshot
	status  Status       // guarded by mu

	contacts []*contact // guarded by mu; the store that was met last comes first

	unchecked []byte // guarded by mu: the sum of the snapshot that it began with, nil if that was compared with the log
}

// Open takes up a replica from its vault. ErrNobody if the vault is empty.
func Open(ctx context.Context, v Vault, o Options) (*Replica, error) {
	id, err := v.Identity(ctx)
	if err != nil {
		return nil, err
	}
	if id == nil {
		return nil, ErrNobody
	}
	r := newReplica(v, o, *id)
	if err := r.load(ctx); err != nil {
		return nil, err
	}
	return r, nil
}

func newReplica(v Vault, o Options, id Identity) *Replica {
	key := ed25519.NewKeyFromSeed(id.Seed)
	r := &Replica{vault: v, opts: o, identity: id, key: key, clock: hlc.NewClock(o.Wall), piece: loadBytes}
	r.device = model.DeviceIDOf(r.public())
	r.restart()
	return r
}

// restart forgets all that load brings back from the vault.
func (r *Replica) restart() {
	r.state = merge.New(r.identity.Household)
	r.sealed = r.state.Tail(r.device).Head()
	r.pending, r.fresh, r.status, r.contacts, r.unchecked = nil, 0, Status{}, nil, nil
}

func (r *Replica) public() ed25519.PublicKey { return r.key.Public().(ed25519.PublicKey) }

// load folds the vault's contents: the snapshot if it is sound, then the batches
// after it, then what was not signed yet.
func (r *Replica) load(ctx context.Context) error {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return err
	}
	if !r.loadSnapshot(ctx, heads) || r.loadTails(ctx, heads) != nil {
		// Without a snapshot, or with one that the log does not go on from, the log is
		// folded from its beginning and every signature verified.
		r.state, r.unchecked = merge.New(r.identity.Household), nil
		if err := r.loadLogs(ctx, heads, verified); err != nil {
			return err
		}
	}
	return r.loadRest(ctx)
}

// loadRest takes up what is in the vault beside the signed logs.
func (r *Replica) loadRest(ctx context.Context) error {
	r.sealed = r.state.Tail(r.device).Head()
	if err := r.loadPending(ctx); err != nil {
		return err
	}
	r.clock.Observe(r.state.Stamp())
	if err := r.loadContacts(ctx); err != nil {
		return err
	}
	return r.carryOver(ctx)
}

// loadSnapshot takes up the snapshot if everything in it is in the log too.
func (r *Replica) loadSnapshot(ctx context.Context, log map[model.DeviceID]oplog.Head) bool {
	data, err := r.vault.Snapshot(ctx)
	if err != nil {
		return false
	}
	s, ok := openSnapshot(data, r.identity.Household)
	if !ok {
		return false
	}
	for d, h := range s.Heads() {
		if log[d].Seq < h.Seq || log[d].Seq == h.Seq && log[d].Hash != h.Hash {
			return false
		}
	}
	r.state, r.unchecked = s, r.uncheckedSum(ctx, data)
	return true
}

// loadBytes is how much of a log is read at a time when a phone opens.
const loadBytes = 4 << 20

// preparing is how batches of the vault are checked.
type preparing func(*merge.State, []*oplog.Batch) *merge.Prepared

func verified(s *merge.State, batches []*oplog.Batch) *merge.Prepared { return s.Prepare(batches) }

// loadTails folds in what came after the snapshot. Its signatures were verified before it
// was kept, so it is enough that every log ends where the vault says that it does.
func (r *Replica) loadTails(ctx context.Context, heads map[model.DeviceID]oplog.Head) error {
	if err := r.loadLogs(ctx, heads, (*merge.State).PrepareKept); err != nil {
		return err
	}
	for d, h := range r.state.Heads() {
		if h != heads[d] {
			return oplog.ErrDamaged
		}
	}
	return nil
}

// loadLogs folds the logs in, until none can be read further: the invitation by
// which a device joined, and what gave its member another role, are in other logs. A log of which nothing can be
// read waits for its inviter's, which the next Sync brings; a phone that has just
// joined is in this state.
func (r *Replica) loadLogs(ctx context.Context, heads map[model.DeviceID]oplog.Head, check preparing) error {
	waiting := oplog.VectorOf(heads).Devices()
	for progress := true; progress; {
		progress = false
		for _, d := range waiting {
			moved, err := r.loadLog(ctx, d, heads[d].Seq, check)
			if err != nil {
				return err
			}
			progress = progress || moved
		}
	}
	for _, d := range waiting {
		if at := r.state.Tail(d).Head().Seq; at > 0 && at < heads[d].Seq {
			return oplog.ErrGap // nobody who reads less than was kept may go on
		}
	}
	return nil
}

// loadLog folds in what it can of one log, and reports whether that was anything.
func (r *Replica) loadLog(ctx context.Context, d model.DeviceID, last uint64, check preparing) (bool, error) {
	moved := false
	for at := r.state.Tail(d).Head().Seq; at < last; at = r.state.Tail(d).Head().Seq {
		batches, err := r.vault.Read(ctx, d, at, r.piece)
		if err != nil {
			return moved, err
		}
		p := check(r.state, batches)
		r.state.Commit(p)
		moved = moved || len(p.Fresh) > 0
		if len(p.Refused) > 0 {
			return moved, waits(p.Refused[0].Err, at)
		}
		if len(p.Fresh) == 0 {
			return moved, oplog.ErrGap
		}
	}
	return moved, nil
}

// waits gives nil for a refusal that may go away when another log is read further: that
// of who invited the author, or gave the author a role. Where a log begins, another
// history of that log may be here.
func waits(err error, at uint64) error {
	passing := []error{oplog.ErrInvitation, oplog.ErrStranger, oplog.ErrNotAllowed}
	if at == 0 {
		passing = append(passing, oplog.ErrGap, oplog.ErrSignature)
	}
	for _, one := range passing {
		if errors.Is(err, one) {
			return nil
		}
	}
	return err
}

func (r *Replica) loadPending(ctx context.Context) error {
	ops, err := r.vault.Pending(ctx)
	if err != nil {
		return err
	}
	for _, p := range ops {
		if p.Seq <= r.sealed.Seq {
			continue
		}
		if p.Seq != r.state.Tail(r.device).Head().Seq+1 {
			return oplog.ErrGap
		}
		if err := r.state.Replay(r.device, p.Op); err != nil {
			return err
		}
		r.pending = append(r.pending, p.Op)
	}
	return nil
}

// Household, Device and Member say who this replica is.
func (r *Replica) Household() model.HouseholdID { return r.identity.Household }

// Device is this phone's id.
func (r *Replica) Device() model.DeviceID {
	d, _ := r.self()
	return d
}

// Member is whose phone this is.
func (r *Replica) Member() model.MemberID {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Member(r.device)
}

// Role is what this phone may do.
func (r *Replica) Role() model.Role {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Role(r.device)
}

// Local reports whether the household lives on this phone only.
func (r *Replica) Local() bool { return r.identity.Local }

// NewID makes the id of a new record.
func (r *Replica) NewID() uuid.UUID { return r.opts.NewID() }

// Now is the phone's time, corrected by what the server told.
func (r *Replica) Now() model.Instant { return model.Instant(r.clock.Wall()) }

// Read shows the household as it is now. The book must not be kept or changed, and
// look must not call the replica, which waits for it.
func (r *Replica) Read(look func(*model.Book)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	look(r.state.Book())
}

// Value is what a field holds now, the zero Value if nobody has set it.
func (r *Replica) Value(ref model.Ref, key model.FieldKey) model.Value {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Current(ref, key).Value
}

// Digest is the digest of the state; replicas with the same operations have the same.
func (r *Replica) Digest() ([sha256.Size]byte, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Digest()
}

// Vector says how far each device's log is known here, this phone's unsent
// operations included.
func (r *Replica) Vector() oplog.Vector {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Vector()
}
