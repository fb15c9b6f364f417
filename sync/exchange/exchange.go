// Package exchange brings two replicas of a household to the same knowledge.
//
// It is a pure state machine: Next makes the message to send, Take takes one in.
// It knows no transport and no clock. HTTP drives it between a phone and the
// server, a simulation drives it between many, a file can carry its messages.
// Messages may be lost, repeated, delayed or reordered: each says in full what its
// sender knows, so the worst that can happen is that something is sent twice.
//
// Messages say by a stub of its hash which history of each log their sender has. So
// two that have different ones of a log, because somebody writes in two places as
// one, notice it when they meet: each keeps its own, says so, and sends nothing of
// that log.
package exchange

import (
	"context"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Replica is one side: what it knows and how it takes in more.
type Replica interface {
	Household() model.HouseholdID

	// Heads says how far each log is known, durably. The caller may change the map.
	Heads() map[model.DeviceID]oplog.Head

	// Devices gives the known devices, whoever invited before whoever was invited.
	Devices() []model.DeviceID

	// Read gives the batches of a device after seq, as oplog.Log.Read does.
	Read(ctx context.Context, device model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error)

	// Take verifies batches, keeps them durably and folds them in. What the rules
	// do not allow is refused and the rest is kept; an error means that nothing may
	// be acknowledged.
	Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error)
}

// PageBytes is about how many bytes of batches go into one message.
const PageBytes = 512 << 10

// Peer is what a replica knows about the other side of one conversation.
type Peer struct {
	theirs   oplog.Vector // nil until they have said it
	stubs    map[model.DeviceID]wire.Stub
	refused  []wire.Refused
	blocked  refusals // logs that they will not take from us now
	declined refusals // logs that we will not take from them now
}

// refusals are the logs that one side refuses, by device.
type refusals map[model.DeviceID]wire.Refused

// add keeps the first refusal of a log: it is the cause of those after it.
func (r *refusals) add(x wire.Refused) {
	if *r == nil {
		*r = refusals{}
	}
	if old, ok := (*r)[x.Device]; !ok || x.First <= old.First {
		(*r)[x.Device] = x
	}
}

// passing are the refusals that can go away when their side learns something else:
// the operations before these, who invited the author, or that the author's role changed.
var passing = map[fault.Code]bool{
	oplog.ErrGap.Code: true, oplog.ErrStranger.Code: true, oplog.ErrInvitation.Code: true, oplog.ErrNotAllowed.Code: true,
}

// retry forgets what may be taken now that the refusing side has learned something.
func (r refusals) retry() {
	for d, x := range r {
		if passing[x.Code] {
			delete(r, d)
		}
	}
}

// Next makes the next message to the other side.
func (p *Peer) Next(ctx context.Context, r Replica) (*wire.Message, error) {
	heads := r.Heads()
	m := &wire.Message{Household: r.Household(), Have: oplog.VectorOf(heads), Stubs: make(map[model.DeviceID]wire.Stub, len(heads))}
	for d, h := range heads {
		m.Stubs[d] = wire.StubOf(h.Hash)
	}
	if p.theirs != nil && !p.theirs.Covers(m.Have) { // else ask first: whoever does not know sends nothing in vain
		if err := p.fill(ctx, r, m); err != nil {
			return nil, err
		}
	}
	m.Refused, p.refused = p.refused, nil
	return m, nil
}

// fill puts a page of what the other side lacks into a message.
func (p *Peer) fill(ctx context.Context, r Replica, m *wire.Message) error {
	room := PageBytes
	for _, d := range r.Devices() {
		if _, blocked := p.blocked[d]; blocked || m.Have[d] <= p.theirs[d] {
			continue
		}
		if room <= 0 {
			m.More = true
			break
		}
		batches, err := r.Read(ctx, d, p.theirs[d], room)
		if err != nil {
			return err
		}
		if len(batches) == 0 || p.parted(batches[0]) {
			continue
		}
		for _, b := range batches {
			room -= len(b.Encode())
		}
		m.Batches = append(m.Batches, batches...)
		if batches[len(batches)-1].Last() < m.Have[d] {
			m.More = true
			break // the rest of this log, and of those after it, come later
		}
	}
	return nil
}

// parted reports whether their history of a log is another than the one that a batch
// goes on from, and notes it.
func (p *Peer) parted(b *oplog.Batch) bool {
	at := p.theirs[b.Device]
	hash, err := b.HashAt(at)
	if err != nil || !p.differs(b.Device, hash) { // a batch that cannot be read is theirs to refuse
		return false
	}
	p.fork(b.Device, at)
	return true
}

// differs reports whether they have another hash than this where their log ends.
func (p *Peer) differs(d model.DeviceID, hash oplog.Hash) bool {
	stub, said := p.stubs[d]
	return said && p.theirs[d] > 0 && stub != wire.StubOf(hash)
}

// fork notes that two histories of a log have met. Neither side will take the other's.
func (p *Peer) fork(d model.DeviceID, at uint64) {
	x := wire.Refused{Device: d, First: at, Code: oplog.ErrFork.Code, Words: oplog.ErrFork.Words}
	p.blocked.add(x)
	p.decline(x)
}

// decline notes what was not taken from them, and that they have to hear of it.
func (p *Peer) decline(x wire.Refused) {
	p.declined.add(x)
	if !slices.ContainsFunc(p.refused, func(r wire.Refused) bool { return r.Device == x.Device }) {
		p.refused = append(p.refused, x)
	}
}

// Take takes in a message from the other side.
func (p *Peer) Take(ctx context.Context, r Replica, m *wire.Message) error {
	if m.Household != r.Household() {
		return oplog.ErrHousehold
	}
	if !p.theirs.Covers(m.Have) {
		p.blocked.retry()
	}
	p.theirs, p.stubs = m.Have, m.Stubs
	before := r.Heads()
	for d, head := range before {
		if head.Seq == p.theirs[d] && p.differs(d, head.Hash) {
			p.fork(d, head.Seq)
		}
	}
	for _, x := range m.Refused {
		p.blocked.add(x)
		if x.Code == oplog.ErrFork.Code {
			p.declined.add(x) // it is one from either side
		}
	}
	if len(m.Batches) == 0 {
		return nil
	}
	refused, err := r.Take(ctx, m.Batches)
	if err != nil {
		return err
	}
	if len(p.declined) > 0 && !oplog.VectorOf(before).Covers(oplog.VectorOf(r.Heads())) {
		p.declined.retry()
	}
	for _, x := range refused {
		p.decline(refusal(x))
	}
	return nil
}

func refusal(x merge.Refusal) wire.Refused {
	out := wire.Refused{Device: x.Batch.Device, First: x.Batch.First, Code: "internal", Words: "This could not be taken in."}
	if f, ok := fault.From(x.Err); ok {
		out.Code, out.Words = f.Code, f.Words
	}
	return out
}

// Settled reports whether there is nothing left to say: both sides know the same,
// apart from logs that one of them refuses.
func (p *Peer) Settled(r Replica) bool {
	if p.theirs == nil {
		return false
	}
	ours := oplog.VectorOf(r.Heads())
	return p.knows(p.theirs, ours, p.blocked) && p.knows(ours, p.theirs, p.declined)
}

// knows reports whether one side knows what the other does, apart from refused logs.
func (p *Peer) knows(one, other oplog.Vector, refused refusals) bool {
	for d, seq := range other {
		if _, ok := refused[d]; !ok && one[d] < seq {
			return false
		}
	}
	return true
}

// Theirs is how far the other side knows each log, nil if it has not said.
func (p *Peer) Theirs() oplog.Vector { return p.theirs }

// Unread notes batches of a message that could not even be read, as wire.Decode names
// them.
func (p *Peer) Unread(bad []error) {
	for _, err := range bad {
		p.decline(unreadable(err))
	}
}

// Blocked gives the logs that the other side refuses to take, and why.
func (p *Peer) Blocked() map[model.DeviceID]wire.Refused { return p.blocked }

// Declined gives the logs that are not taken from the other side, and why.
func (p *Peer) Declined() map[model.DeviceID]wire.Refused { return p.declined }
