package replica

import (
	"context"
	"encoding/binary"
	"errors"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Announce tells the server about this phone: by the set-up token that it was
// started with if it founded the household, by its invitation if it joined. It may
// be called again when no answer came; Sync does so by itself.
func (r *Replica) Announce(ctx context.Context, s *Server) error {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	return r.announce(ctx, s)
}

func (r *Replica) announce(ctx context.Context, s *Server) error {
	first, err := r.vault.Read(ctx, r.device, 0, 1)
	if err != nil {
		return err
	}
	if len(first) == 0 {
		return oplog.ErrGap
	}
	m := &wire.Message{Household: r.identity.Household, Have: oplog.Vector{r.device: first[0].Last()}, Batches: first}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	setup, err := r.vault.Kept(ctx, keptSetup)
	if err != nil {
		return err
	}
	if setup != nil {
		_, err = s.found(ctx, string(setup), data)
	} else {
		_, err = s.join(ctx, data)
	}
	return err
}

// maxRounds bounds one Sync. Each round moves a page each way; what is left waits
// for the next Sync.
const maxRounds = 400

// Sync signs what waits, sends it, and takes in what others wrote. It may be called
// at any time; it does not disturb reading and writing. What the server refused of
// this phone's own log is in Status afterwards.
func (r *Replica) Sync(ctx context.Context, s *Server) error {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	r.mu.Lock()
	r.status.Restored = false
	r.mu.Unlock()
	err := r.syncKnown(ctx, s)
	if err == nil && r.forked() {
		if err = r.succeed(ctx, s); err == nil {
			err = r.syncKnown(ctx, s)
		}
	}
	r.mu.Lock()
	r.status.Trouble = nil
	if err != nil {
		r.status.Trouble = asFault(err)
	}
	r.mu.Unlock()
	return err
}

// syncKnown syncs, and announces this phone first if the server does not know it: it
// was killed before it was announced, or the server was restored to a time before that.
func (r *Replica) syncKnown(ctx context.Context, s *Server) error {
	err := r.sync(ctx, s)
	if !errors.Is(err, oplog.ErrStranger) {
		return err
	}
	if err := r.announce(ctx, s); err != nil {
		return err
	}
	return r.sync(ctx, s)
}

// forked reports whether the server has another history of this phone's log.
func (r *Replica) forked() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.status.Blocked != nil && r.status.Blocked.Code == oplog.ErrFork.Code
}

func asFault(err error) *fault.Fault {
	if f, ok := fault.From(err); ok {
		return f
	}
	return ErrServer.Because(err)
}

func (r *Replica) sync(ctx context.Context, s *Server) error {
	if err := r.seal(ctx); err != nil {
		return err
	}
	side := (*side)(r)
	peer := &exchange.Peer{}
	for range maxRounds {
		before := []oplog.Vector{peer.Theirs(), side.Vector()}
		out, err := peer.Next(ctx, side)
		if err != nil {
			return err
		}
		in, err := r.roundTrip(ctx, s, out)
		if err != nil {
			return err
		}
		r.acknowledge(out, in)
		if err := peer.Take(ctx, side, in); err != nil {
			return err
		}
		if peer.Settled(side) {
			break
		}
		if before[0] != nil && before[0].Equal(peer.Theirs()) && before[1].Equal(side.Vector()) {
			break // a round that moved nothing: what is left is refused by one side
		}
	}
	if err := r.settle(ctx, peer); err != nil {
		return err
	}
	if err := r.takeUp(ctx); err != nil {
		return err
	}
	return r.saveSnapshot(ctx)
}

// takeUp writes what had to wait until this phone is folded in.
func (r *Replica) takeUp(ctx context.Context) error {
	r.mu.Lock()
	err := r.carryOver(ctx)
	r.mu.Unlock()
	if err != nil {
		return err
	}
	return r.writeNames(ctx)
}

// roundTrip sends a message and brings the answer. The server's time in it, against
// the middle of the round trip, tells how far the phone's clock is off.
func (r *Replica) roundTrip(ctx context.Context, s *Server, m *wire.Message) (*wire.Message, error) {
	data, err := m.Encode()
	if err != nil {
		return nil, err
	}
	sent := r.opts.Wall()
	in, err := s.exchange(ctx, data)
	if err != nil {
		return nil, err
	}
	if in.Now != 0 {
		offset := in.Now - (sent+r.opts.Wall())/2
		if offset < 1000 && offset > -1000 {
			offset = 0 // less than what a slow network makes up
		}
		r.clock.Correct(offset)
	}
	return in, nil
}

// seal signs the pending operations, so that they can be sent.
func (r *Replica) seal(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	for len(r.pending) > 0 {
		n := pageOf(r.pending)
		tail := r.state.Tail(r.device)
		b, err := tail.Seal(r.key, r.sealed, r.pending[:n])
		if err != nil {
			return err
		}
		if err := r.vault.Seal(ctx, b); err != nil {
			return err
		}
		hash, err := b.HashAt(b.Last())
		if err != nil {
			return err
		}
		r.pending = r.pending[n:]
		r.sealed = oplog.Head{Seq: b.Last(), Hash: hash}
	}
	return nil
}

// pageOf is how many operations fit into one batch.
func pageOf(ops [][]byte) int {
	const mostOps, mostBytes = 2000, 256 << 10
	size := 0
	for i, op := range ops {
		size += len(op)
		if i > 0 && (i >= mostOps || size > mostBytes) {
			return i
		}
	}
	return len(ops)
}

// side is the replica as the exchange sees it: its signed part only.
type side Replica

func (s *side) Household() model.HouseholdID { return s.identity.Household }

func (s *side) Vector() oplog.Vector {
	s.mu.Lock()
	defer s.mu.Unlock()
	v := s.state.Vector()
	if s.sealed.Seq > 0 {
		v[s.device] = s.sealed.Seq
	}
	return v
}

func (s *side) Devices() []model.DeviceID {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.state.Devices()
}

func (s *side) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	return s.vault.Read(ctx, d, after, maxBytes)
}

// Take keeps batches and folds them in. Writing waits meanwhile, because it goes on
// from the same state.
func (s *side) Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	p := s.state.Prepare(batches)
	for _, b := range p.Known {
		if b.Device == s.device && b.Last() > s.sealed.Seq {
			continue // it repeats what is written here and not signed yet
		}
		if err := oplog.Repeats(ctx, s.vault, b); errors.Is(err, oplog.ErrFork) {
			p.Refused = append(p.Refused, merge.Refusal{Batch: b, Err: err})
		}
	}
	if len(p.Fresh) == 0 {
		return p.Refused, nil
	}
	if err := s.vault.Append(ctx, p.Fresh); err != nil {
		return nil, err
	}
	s.state.Commit(p)
	s.clock.Observe(s.state.Stamp())
	for _, b := range p.Fresh {
		s.fresh += b.Count
	}
	if len(s.pending) == 0 {
		s.sealed = s.state.Tail(s.device).Head()
	}
	return p.Refused, nil
}

// acknowledge notes how far the server has this phone's log: as far as it says, but
// no further than what was sent to it and not refused. If it says more, perhaps the
// answer to an earlier push was lost; but a copy of this phone may also have written
// other operations under the same numbers. So the rest is sent again, and the server
// compares.
func (r *Replica) acknowledge(out, in *wire.Message) {
	r.mu.Lock()
	defer r.mu.Unlock()
	sent := r.status.acked
	r.status.Restored = r.status.Restored || in.Have[r.device] < sent
	for _, b := range out.Batches {
		if b.Device == r.device {
			sent = b.Last()
		}
	}
	if slices.ContainsFunc(in.Refused, func(x wire.Refused) bool { return x.Device == r.device }) {
		sent = r.status.acked
	}
	r.status.acked = min(sent, in.Have[r.device])
	if r.sealed.Seq > r.status.acked {
		in.Have[r.device] = r.status.acked
	}
}

// settle remembers what the server has told.
func (r *Replica) settle(ctx context.Context, p *exchange.Peer) error {
	r.mu.Lock()
	r.status.Blocked = nil
	if b, ok := p.Blocked()[r.device]; ok {
		r.status.Blocked = fault.New(b.Code, b.Words)
	}
	if r.status.acked >= r.sealed.Seq {
		r.status.Shared = model.Instant(r.clock.Wall())
	}
	kept := binary.BigEndian.AppendUint64(nil, r.status.acked)
	kept = binary.BigEndian.AppendUint64(kept, uint64(r.status.Shared))
	kept = binary.BigEndian.AppendUint64(kept, uint64(r.clock.Offset()))
	r.mu.Unlock()
	return r.vault.Keep(ctx, keptContact, kept)
}

// keptContact is what the last contact told, 8 bytes each: the acknowledged
// operations, the moment of Status.Shared, and how far the clock is off.
const keptContact = "contact"

// Status says where the data of this phone is.
type Status struct {
	Unsent  int           // own operations that the server has not acknowledged
	Shared  model.Instant // when it last had all of them, 0 for never
	Trouble *fault.Fault  // why the last Sync failed, nil if it did not
	Blocked *fault.Fault  // why the server refuses this phone's log, nil if it does not
	// Restored is set when the server knew less of a log at the last Sync than it had
	// said before: it was restored from a backup. The phones bring it up to date.
	Restored bool
	Moved    *Move // this phone writes under another key since, nil after ForgetMove
	Offset   int64 // milliseconds that the phone's own clock is behind the server's, as last told

	acked uint64 // the server has this much of the own log, and it is what we wrote
}

// Status says where the data of this phone is.
func (r *Replica) Status() Status {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := r.status
	s.Offset = r.clock.Offset()
	if head := r.state.Tail(r.device).Head().Seq; head > s.acked {
		s.Unsent = int(head - s.acked)
	}
	return s
}

func (r *Replica) loadContact(ctx context.Context) error {
	b, err := r.vault.Kept(ctx, keptContact)
	if err != nil || len(b) != 24 {
		return err
	}
	r.status.acked = binary.BigEndian.Uint64(b)
	r.status.Shared = model.Instant(binary.BigEndian.Uint64(b[8:]))
	r.clock.Correct(int64(binary.BigEndian.Uint64(b[16:])))
	return nil
}
