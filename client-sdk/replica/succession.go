package replica

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"reflect"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Move tells that this phone goes on under another key, and what became of the entries
// that were only on this phone.
type Move struct {
	Why     *fault.Fault // why entries under the old key were refused
	When    model.Instant
	Carried int // entries that were written again under the new key
	Left    int // entries that this phone may not write any more; they are kept, see LeftBehind
}

// move is how a Move is kept. While it is not done, the operations wait to be written
// again.
type move struct {
	_       struct{} `cbor:",toarray"`
	Code    string
	Words   string
	When    int64
	Device  model.DeviceID  // the old one
	Tail    oplog.SavedTail // of the old log, where the operations begin
	Ops     [][]byte
	Carried int
	Left    []uint64 // numbers of those that may not be written
	Done    bool
}

// The names under which a move, and how a phone is about to join again, are kept.
const (
	keptMove = "move"
	keptNext = "next"
)

// succeed lets this phone take its own place under a new key, because another phone
// writes under the old one: a profile was copied. What the two have not in common, the
// new one writes again.
func (r *Replica) succeed(ctx context.Context, s *Server) error {
	theirs, err := r.fetchOwn(ctx, s)
	if err != nil {
		return err
	}
	key, err := newKey(r.opts)
	if err != nil {
		return err
	}
	return r.moveTo(ctx, key, theirs, oplog.ErrFork, func(common *oplog.Tail) (*oplog.Batch, error) {
		public := key.Public().(ed25519.PublicKey)
		op := &oplog.Succeed{Key: public, Device: r.device, After: common.Head().Seq,
			Proof: ed25519.Sign(r.key, oplog.SucceedBytes(r.identity.Household, public))}
		// The earliest stamp there can be, so that what follows can keep its own.
		return firstOf(r.identity.Household, key, common.Stamp()+1, op)
	})
}

// Rejoin brings this phone back by a new invitation after it was signed off, or after
// another phone had used the invitation it came by. What it had not sent it writes
// again, as far as its new role allows. It needs the server, and may be tried again.
func (r *Replica) Rejoin(ctx context.Context, s *Server, i Invitation) error {
	if i.Household != r.identity.Household {
		return oplog.ErrInvitation
	}
	r.syncing.Lock()
	defer r.syncing.Unlock()
	key, first, err := r.knock(ctx, i)
	if err != nil {
		return err
	}
	as := &Server{transport: s.transport, household: s.household, self: func() (model.DeviceID, ed25519.PrivateKey) { return first.Device, key }}
	m := &wire.Message{Household: i.Household, Have: oplog.Vector{first.Device: 1}, Batches: []*oplog.Batch{first}}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	if _, err := as.join(ctx, data); err != nil {
		return err
	}
	theirs, err := r.fetchOwn(ctx, as)
	if err != nil {
		return err
	}
	return r.moveTo(ctx, key, theirs, oplog.ErrRevoked, func(*oplog.Tail) (*oplog.Batch, error) { return first, nil })
}

// knock gives the key to join again with, and what the new log begins with. Both are
// kept before they are used, because an invitation lets in one device.
func (r *Replica) knock(ctx context.Context, i Invitation) (ed25519.PrivateKey, *oplog.Batch, error) {
	kept, err := r.vault.Kept(ctx, keptNext)
	if err != nil {
		return nil, nil, err
	}
	if len(kept) > ed25519.SeedSize {
		first, err := oplog.DecodeBatch(kept[ed25519.SeedSize:])
		if err != nil {
			return nil, nil, err
		}
		intro, err := oplog.Introduction(i.Household, first)
		if j, ok := intro.(*oplog.Join); err == nil && ok && j.Via == i.Op {
			return ed25519.NewKeyFromSeed(kept[:ed25519.SeedSize]), first, nil
		}
	}
	key, err := newKey(r.opts)
	if err != nil {
		return nil, nil, err
	}
	r.clock.Observe(i.After)
	first, err := firstOf(i.Household, key, r.clock.Now(), i.accept(key.Public().(ed25519.PublicKey)))
	if err != nil {
		return nil, nil, err
	}
	return key, first, r.vault.Keep(ctx, keptNext, append(key.Seed(), first.Encode()...))
}

// firstOf signs the operation that a log begins with.
func firstOf(h model.HouseholdID, key ed25519.PrivateKey, stamp hlc.Stamp, op any) (*oplog.Batch, error) {
	tail := oplog.NewTail(h, model.DeviceIDOf(key.Public().(ed25519.PublicKey)))
	start := tail.Head()
	ops, err := tail.Write(stamp, op)
	if err != nil {
		return nil, err
	}
	return tail.Seal(key, start, ops)
}

// fetchOwn brings this phone's log as the server has it, from its beginning, and takes
// in what else comes with it.
func (r *Replica) fetchOwn(ctx context.Context, s *Server) ([]*oplog.Batch, error) {
	var log []*oplog.Batch
	tail := oplog.NewTail(r.identity.Household, r.device)
	for range maxRounds {
		have := (*side)(r).Vector()
		have[r.device] = tail.Head().Seq
		in, err := r.roundTrip(ctx, s, &wire.Message{Household: r.identity.Household, Have: have})
		if err != nil {
			return nil, err
		}
		var others []*oplog.Batch
		for _, b := range in.Batches {
			if b.Device != r.device {
				others = append(others, b)
				continue
			}
			if _, tail, err = tail.Read(r.public(), b); err != nil {
				return nil, err
			}
			log = append(log, b)
		}
		if _, err := (*side)(r).Take(ctx, others); err != nil {
			return nil, err
		}
		if tail.Head().Seq >= in.Have[r.device] && !in.More {
			return log, nil
		}
	}
	return nil, ErrServer
}

// moveTo makes this phone one with another key. Its old log is from now on theirs; what
// the phone has beyond the beginning that both share waits to be written again.
func (r *Replica) moveTo(ctx context.Context, key ed25519.PrivateKey, theirs []*oplog.Batch, why *fault.Fault, first func(common *oplog.Tail) (*oplog.Batch, error)) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	common, rest, err := r.unshared(ctx, theirs)
	if err != nil {
		return err
	}
	m := move{Code: string(why.Code), Words: why.Words, When: int64(r.Now()), Device: r.device, Tail: common.Save(), Ops: rest}
	data, err := cbor.Marshal(m)
	if err != nil {
		return err
	}
	x := Succession{Old: r.device, Log: theirs, Identity: Identity{Household: r.identity.Household, Seed: key.Seed()},
		Kept: map[string][]byte{keptMove: data, keptNext: nil, keptSetup: nil, keptContact: nil}}
	if x.First, err = first(common); err != nil {
		return err
	}
	if err := r.vault.Succeed(ctx, x); err != nil {
		return err
	}
	r.who.Lock()
	r.key, r.device = key, x.First.Device
	r.who.Unlock()
	r.restart()
	return r.load(ctx)
}

// unshared compares this phone's log, signed or not, with what others have of it. It
// gives the log where the two part, and this phone's operations from there on.
func (r *Replica) unshared(ctx context.Context, theirs []*oplog.Batch) (*oplog.Tail, [][]byte, error) {
	signed, err := r.vault.Read(ctx, r.device, 0, maxOwnLog)
	if err != nil {
		return nil, nil, err
	}
	mine, err := opsOf(signed)
	if err != nil {
		return nil, nil, err
	}
	mine = append(mine, r.pending...)
	shared, err := opsOf(theirs)
	if err != nil {
		return nil, nil, err
	}
	tail, n := oplog.NewTail(r.identity.Household, r.device), 0
	for n < len(mine) && n < len(shared) && bytes.Equal(mine[n], shared[n]) {
		if _, err := tail.Replay(mine[n]); err != nil {
			return nil, nil, err
		}
		n++
	}
	return tail, mine[n:], nil
}

// maxOwnLog is more than one phone ever writes.
const maxOwnLog = 1 << 30

func opsOf(batches []*oplog.Batch) ([][]byte, error) {
	var all [][]byte
	for _, b := range batches {
		ops, err := b.Split()
		if err != nil {
			return nil, err
		}
		all = append(all, ops...)
	}
	return all, nil
}

// carryOver writes again what waits from before a move, as soon as this phone is
// folded in. Its log holds nothing but its beginning until then, so a phone that is
// killed meanwhile knows whether it has done so.
func (r *Replica) carryOver(ctx context.Context) error {
	m, err := r.move(ctx)
	if err != nil || m == nil {
		return err
	}
	if m.Done || r.state.Access(r.device) != nil {
		r.status.Moved = m.told()
		return nil
	}
	if r.state.Tail(r.device).Head().Seq == 1 {
		w, err := r.writeAgain(m)
		if err != nil {
			return err
		}
		if err := r.keepMove(ctx, m); err != nil {
			return err
		}
		if err := r.vault.AddPending(ctx, w.pending); err != nil {
			return err
		}
		r.accept(w)
	}
	m.Done = true
	r.status.Moved = m.told()
	return r.keepMove(ctx, m)
}

// writeAgain drafts the operations that wait, as this phone's now. When something was
// done, and by whom, stays; so does the stamp, unless the log has gone past it.
func (r *Replica) writeAgain(m *move) (written, error) {
	draft, err := r.state.Draft(r.device)
	if err != nil {
		return written{}, err
	}
	old := oplog.RestoreTail(r.identity.Household, m.Tail)
	a := again{from: m.Device, to: r.device, was: r.state.Member(m.Device), is: r.state.Member(r.device), ids: map[uint64]model.FactID{}}
	for _, d := range r.state.Devices() {
		if r.state.Member(d) == a.is {
			a.known = append(a.known, r.state.Book().DeviceFacts(d)...)
		}
	}
	last := r.state.Tail(r.device).Stamp()
	m.Carried, m.Left = 0, nil
	for _, data := range m.Ops {
		op, err := old.Replay(data)
		if err != nil {
			return written{}, fmt.Errorf("carry over: %w", err)
		}
		if id, ok := a.written(op); ok {
			a.ids[op.ID.Seq] = id
			m.Carried++
			continue
		}
		body := a.rewrite(op.Body)
		if body == nil {
			continue
		}
		last = max(last, op.Stamp)
		id, err := draft.Write(last, body)
		if _, refused := fault.From(err); refused {
			m.Left = append(m.Left, op.ID.Seq)
			continue
		}
		if err != nil {
			return written{}, err
		}
		a.ids[op.ID.Seq] = id
		m.Carried++
	}
	return written{draft: draft, pending: r.pendingOf(draft)}, nil
}

// again turns operations of one device and member into those of another.
type again struct {
	from, to model.DeviceID
	was, is  model.MemberID
	ids      map[uint64]model.FactID // of what was written again, by its old number
	known    []*model.Fact           // of the member
}

// written finds a fact that another copy of this phone held too and has carried over
// already: nothing else has the same stamp and says the same.
func (a *again) written(op *oplog.Op) (model.FactID, bool) {
	f, ok := op.Body.(*model.Fact)
	if !ok {
		return model.FactID{}, false
	}
	for _, k := range a.known {
		if k.Stamp == f.Stamp && k.At == f.At && k.By == f.By && reflect.DeepEqual(k.Body, f.Body) {
			return k.ID, true
		}
	}
	return model.FactID{}, false
}

// rewrite gives the operation to write, nil for what need not be: names of ids, a
// beginning, and invitations, whose links name the old log.
func (a *again) rewrite(body any) any {
	switch b := body.(type) {
	case *model.Fact:
		f := *b
		f.ID, f.Stamp = model.FactID{}, 0
		if f.By == a.was {
			f.By = a.is
		}
		if w, ok := b.Body.(*model.Withdrawn); ok {
			f.Body = &model.Withdrawn{Fact: a.id(w.Fact), Note: w.Note}
		}
		return &f
	case *oplog.Set:
		s := oplog.Set{Record: b.Record}
		switch {
		case s.Record == model.Ref{Kind: model.KindDevice, ID: a.from.UUID()}:
			s.Record.ID = a.to.UUID()
		case s.Record == model.Ref{Kind: model.KindMember, ID: a.was.UUID()}:
			s.Record.ID = a.is.UUID()
		}
		for _, f := range b.Fields {
			f.Over = a.id(f.Over)
			s.Fields = append(s.Fields, f)
		}
		return &s
	case *oplog.Appoint, *oplog.Revoke, *oplog.Remove:
		return b
	}
	return nil
}

func (a *again) id(of model.FactID) model.FactID {
	if now, ok := a.ids[of.Seq]; ok && of.Device == a.from {
		return now
	}
	return of
}

// LeftBehind gives what this phone had written and may not write any more since it
// moved: *model.Fact, *oplog.Set and others. It is nowhere but on this phone.
func (r *Replica) LeftBehind(ctx context.Context) ([]any, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	m, err := r.move(ctx)
	if err != nil || m == nil {
		return nil, err
	}
	left := map[uint64]bool{}
	for _, seq := range m.Left {
		left[seq] = true
	}
	var out []any
	old := oplog.RestoreTail(r.identity.Household, m.Tail)
	for _, data := range m.Ops {
		op, err := old.Replay(data)
		if err != nil {
			return nil, err
		}
		if left[op.ID.Seq] {
			out = append(out, op.Body)
		}
	}
	return out, nil
}

// ForgetMove says that the person has read about the move, and gives up what was left
// behind.
func (r *Replica) ForgetMove(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	m, err := r.move(ctx)
	if err != nil || m == nil || !m.Done {
		return err
	}
	r.status.Moved = nil
	return r.vault.Keep(ctx, keptMove, nil)
}

func (r *Replica) move(ctx context.Context) (*move, error) {
	data, err := r.vault.Kept(ctx, keptMove)
	if err != nil || data == nil {
		return nil, err
	}
	m := &move{}
	if err := cbor.Unmarshal(data, m); err != nil {
		return nil, fmt.Errorf("read move: %w", err)
	}
	return m, nil
}

func (r *Replica) keepMove(ctx context.Context, m *move) error {
	data, err := cbor.Marshal(m)
	if err != nil {
		return err
	}
	return r.vault.Keep(ctx, keptMove, data)
}

func (m *move) told() *Move {
	return &Move{Why: fault.New(fault.Code(m.Code), m.Words), When: model.Instant(m.When), Carried: m.Carried, Left: len(m.Left)}
}
