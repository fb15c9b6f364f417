package replica

import (
	"context"
	"fmt"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// Of two histories of a log everybody keeps the first that comes, so a phone may have
// one that the server has not: it got it from a file, or from the server before that was
// restored. Then it takes the server's, which is everybody else's. The phone that wrote
// the other one writes it again under another key, as soon as it hears of it. But it
// may be lost, and then this phone has the only copy; so it writes it again as well.
// What both write counts once, see the rules of package merge on repeats.

// givenUp is what a phone had of another phone's log beyond what it shares with the
// history that it follows now.
type givenUp struct {
	_    struct{}        `cbor:",toarray"`
	Tail oplog.SavedTail // of the log, where the operations begin
	Ops  [][]byte
}

// keptGivenUp are the []givenUp that have not all been written again.
const keptGivenUp = "given-up"

// forksOf are the logs, but this phone's own, of which the other side has another
// history.
func (r *Replica) forksOf(p *exchange.Peer) []model.DeviceID {
	var forks []model.DeviceID
	for _, d := range p.Theirs().Devices() {
		if x, ok := p.Declined()[d]; ok && x.Code == oplog.ErrFork.Code && d != r.device {
			forks = append(forks, d)
		}
	}
	return forks
}

// follow takes the server's history of a log in place of what is here. It reports
// whether it did: it does not where that lacks what entries of other logs build on, until
// their authors have said it again.
func (r *Replica) follow(ctx context.Context, s *Server, d model.DeviceID) (bool, error) {
	r.mu.Lock()
	key, known := r.state.Key(d)
	r.mu.Unlock()
	if !known {
		return false, nil
	}
	theirs, err := r.fetchLog(ctx, s, d, key)
	if err != nil {
		return false, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	orphans, fits, err := r.fits(ctx, d, theirs)
	if !fits {
		return false, err
	}
	common, rest, err := r.unshared(ctx, d, nil, theirs)
	if err != nil {
		return false, err
	}
	kept, err := r.givenUp(ctx)
	if err != nil {
		return false, err
	}
	if len(rest) > 0 {
		kept = append(kept, givenUp{Tail: common.Save(), Ops: rest})
	}
	kept = append(kept, orphans...)
	data, err := cbor.Marshal(kept)
	if err != nil {
		return false, err
	}
	if err := r.vault.Replace(ctx, Replacement{Device: d, Log: theirs, Kept: map[string][]byte{keptGivenUp: data}}); err != nil {
		return false, err
	}
	return true, r.reload(ctx)
}

// fits reports whether the logs that are here can still be read if one is replaced. The
// log of a phone that was invited in the history that is given up can not, at all: it is
// an orphan. The phone has to be invited again, and what it wrote is given up as well.
func (r *Replica) fits(ctx context.Context, d model.DeviceID, theirs []*oplog.Batch) (orphans []givenUp, fits bool, err error) {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return nil, false, err
	}
	logs, err := r.logsBut(ctx, d)
	if err != nil {
		return nil, false, err
	}
	st := r.fold(theirs, logs)
	for _, other := range r.state.Devices() {
		head := st.Tail(other).Head()
		if other == d || head == heads[other] {
			continue
		}
		if head.Seq > 0 || other == r.device {
			return nil, false, nil
		}
		ops, err := opsOf(logs[other])
		if err != nil {
			return nil, false, err
		}
		orphans = append(orphans, givenUp{Tail: oplog.NewTail(r.identity.Household, other).Save(), Ops: ops})
	}
	return orphans, true, nil
}

// reload takes up again what is in the vault, after more than the last operations of it
// has changed.
func (r *Replica) reload(ctx context.Context) error {
	r.restart()
	return r.load(ctx)
}

func (r *Replica) givenUp(ctx context.Context) (all []givenUp, err error) {
	data, err := r.vault.Kept(ctx, keptGivenUp)
	if err == nil && data != nil {
		err = cbor.Unmarshal(data, &all)
	}
	return all, err
}

// writeGivenUp writes as this phone's own what it gave up and nobody has written again.
// What it may not write stays kept, for when it may.
func (r *Replica) writeGivenUp(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	all, err := r.givenUp(ctx)
	if err != nil || len(all) == 0 || r.state.Access(r.device) != nil {
		return err
	}
	draft, err := r.state.Draft(r.device)
	if err != nil {
		return err
	}
	refused := false
	for _, g := range all {
		x := regained{replica: r, tail: oplog.RestoreTail(r.identity.Household, g.Tail), draft: draft, ids: map[model.FactID]model.FactID{}}
		for _, data := range g.Ops {
			if err := x.write(data); err != nil {
				return err
			}
		}
		refused = refused || x.refused
	}
	w := written{draft: draft, pending: r.pendingOf(draft)}
	if len(w.pending) > 0 {
		if err := r.vault.AddPending(ctx, w.pending); err != nil {
			return err
		}
		r.accept(w)
	}
	if refused {
		return nil
	}
	return r.vault.Keep(ctx, keptGivenUp, nil)
}

// regained writes again what was given up of one log.
type regained struct {
	replica *Replica
	tail    *oplog.Tail
	draft   *merge.Draft
	ids     map[model.FactID]model.FactID // of what is there under another number now
	refused bool
}

func (x *regained) write(data []byte) error {
	op, err := x.tail.Replay(data)
	if err != nil {
		return fmt.Errorf("write again what was given up: %w", err)
	}
	var body any
	switch b := op.Body.(type) {
	case *model.Fact:
		body = x.fact(op.ID, b)
	case *oplog.Set:
		body = x.set(op, b)
	}
	if body == nil {
		return nil // it is there, or it is only for its author to say
	}
	id, err := x.draft.Write(x.replica.clock.Now(), body)
	if _, not := fault.From(err); not {
		x.refused = true
		return nil
	}
	x.ids[op.ID] = id
	return err
}

// fact gives the fact to write, nil if it is there.
func (x *regained) fact(id model.FactID, f *model.Fact) any {
	again := &model.Fact{At: f.At, By: f.By, Body: f.Body}
	if w, ok := f.Body.(*model.Withdrawn); ok {
		if now, moved := x.ids[w.Fact]; moved {
			again.Body = &model.Withdrawn{Fact: now, Note: w.Note}
		}
	}
	if now, there := x.replica.written(again, false); there {
		x.ids[id] = now
		return nil
	}
	return again
}

// set gives the settings to write: those that nobody has changed since. Written now,
// the others would win over what came after them.
func (x *regained) set(op *oplog.Op, b *oplog.Set) any {
	again := &oplog.Set{Record: b.Record}
	for _, f := range b.Fields {
		now := x.replica.state.Current(b.Record, f.Key)
		if now.Stamp < op.Stamp && now.Value != f.Value {
			again.Fields = append(again.Fields, oplog.Setting{Key: f.Key, Value: f.Value, Over: now.By})
		}
	}
	if len(again.Fields) == 0 {
		return nil
	}
	return again
}
