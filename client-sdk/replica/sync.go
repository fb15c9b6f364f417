package replica

import (
	"context"
	"errors"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// maxRounds bounds one Sync. Each round moves a page each way; what is left waits
// for the next Sync.
const maxRounds = 400

// Sync signs what waits, sends it, and takes in what others wrote. It may be called
// at any time; it does not disturb reading and writing. What the server refused of
// this phone's own log is in Status afterwards.
func (r *Replica) Sync(ctx context.Context, s *Server) error {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	err := r.syncKnown(ctx, s)
	if err == nil {
		err = r.heal(ctx, s)
	}
	r.mu.Lock()
	r.status.Trouble = nil
	if err != nil {
		r.status.Trouble = asFault(err)
	}
	r.mu.Unlock()
	return err
}

// heal mends the forks that a sync has met, and syncs again if there were any.
func (r *Replica) heal(ctx context.Context, s *Server) error {
	healed := false
	for _, d := range r.forks {
		followed, err := r.follow(ctx, s, d)
		if err != nil {
			return err
		}
		healed = healed || followed
	}
	if r.forked() {
		if err := r.succeed(ctx, s); err != nil {
			return err
		}
		healed = true
	}
	if !healed {
		return nil
	}
	return r.syncKnown(ctx, s)
}

// syncKnown syncs, and announces this phone first if the server does not know it: it
// was killed before it was announced, or the server was restored to a time before that.
func (r *Replica) syncKnown(ctx context.Context, s *Server) error {
	err := r.sync(ctx, s)
	if !errors.Is(err, oplog.ErrStranger) {
		return err
	}
	s.stranger = true
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
		out.Epoch = r.lost()
		in, bad, err := r.roundTrip(ctx, s, out)
		if err != nil {
			return err
		}
		if err := r.meet(ctx, s, in); err != nil {
			return err
		}
		r.distrust(out, in)
		if err := peer.Take(ctx, side, in); err != nil {
			return err
		}
		peer.Unread(bad)
		if err := r.acknowledge(ctx, in); err != nil {
			return err
		}
		if lost := r.lost(); peer.Settled(side) && (lost.IsZero() || lost == out.Epoch) {
			break // and the server has heard of it if it was restored
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
	return r.putAway(ctx)
}

// takeUp writes what had to wait until this phone is folded in.
func (r *Replica) takeUp(ctx context.Context) error {
	r.mu.Lock()
	err := r.carryOver(ctx)
	r.mu.Unlock()
	if err != nil {
		return err
	}
	if err := r.writeGivenUp(ctx); err != nil {
		return err
	}
	return r.writeNames(ctx)
}

// roundTrip sends a message and brings the answer. The server's time in it, against
// the middle of the round trip, tells how far the phone's clock is off.
func (r *Replica) roundTrip(ctx context.Context, s *Server, m *wire.Message) (in *wire.Message, bad []error, err error) {
	data, err := m.Encode()
	if err != nil {
		return nil, nil, err
	}
	sent := r.opts.Wall()
	in, bad, err = s.exchange(ctx, data)
	if err != nil {
		return nil, nil, err
	}
	if in.Now != 0 {
		offset := in.Now - (sent+r.opts.Wall())/2
		if offset < 1000 && offset > -1000 {
			offset = 0 // less than what a slow network makes up
		}
		r.clock.Correct(offset)
	}
	return in, bad, nil
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

func (s *side) Heads() map[model.DeviceID]oplog.Head {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := s.state.Heads()
	if s.sealed.Seq > 0 {
		h[s.device] = s.sealed
	}
	return h
}

func (s *side) Vector() oplog.Vector { return oplog.VectorOf(s.Heads()) }

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
