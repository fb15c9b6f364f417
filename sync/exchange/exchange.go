// Package exchange brings two replicas of a household to the same knowledge.
//
// It is a pure state machine: Next makes the message to send, Take takes one in.
// It knows no transport and no clock. HTTP drives it between a phone and the
// server, a simulation drives it between many, a file can carry its messages.
// Messages may be lost, repeated, delayed or reordered: each says in full what its
// sender knows, so the worst that can happen is that something is sent twice.
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

	// Vector says how far each log is known, durably.
	Vector() oplog.Vector

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
	m := &wire.Message{Household: r.Household(), Have: r.Vector(), Refused: p.refused}
	p.refused = nil
	if p.theirs == nil {
		return m, nil // ask first: whoever does not know sends nothing in vain
	}
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
			return nil, err
		}
		for _, b := range batches {
			room -= len(b.Encode())
		}
		m.Batches = append(m.Batches, batches...)
		if n := len(batches); n > 0 && batches[n-1].Last() < m.Have[d] {
			m.More = true
			break // the rest of this log, and of those after it, come later
		}
	}
	return m, nil
}

// Take takes in a message from the other side.
func (p *Peer) Take(ctx context.Context, r Replica, m *wire.Message) error {
	if m.Household != r.Household() {
		return oplog.ErrHousehold
	}
	if !p.theirs.Covers(m.Have) {
		p.blocked.retry()
	}
	p.theirs = m.Have
	for _, x := range m.Refused {
		p.blocked.add(x)
	}
	if len(m.Batches) == 0 {
		return nil
	}
	before := r.Vector()
	refused, err := r.Take(ctx, m.Batches)
	if err != nil {
		return err
	}
	if !before.Covers(r.Vector()) {
		p.declined.retry()
	}
	for _, x := range refused {
		one := refusal(x)
		p.declined.add(one)
		if !slices.ContainsFunc(p.refused, func(r wire.Refused) bool { return r.Device == one.Device }) {
			p.refused = append(p.refused, one)
		}
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
	return p.knows(p.theirs, r.Vector(), p.blocked) && p.knows(r.Vector(), p.theirs, p.declined)
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

// Blocked gives the logs that the other side refuses to take, and why.
func (p *Peer) Blocked() map[model.DeviceID]wire.Refused { return p.blocked }
