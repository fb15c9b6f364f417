package merge

import (
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Draft is what one device writes next. It is checked and encoded but not folded
// in, so that the bytes can be put on a disk before anybody is told they are saved.
type Draft struct {
	// Ops are the encoded operations, in order, to be kept as they are.
	Ops [][]byte

	tail    *oplog.Tail
	door    *door
	changes []*oplog.Op // on membership, what is drafted included
	read    []*oplog.Op
}

// Draft begins to write the log of a device that may act for its member.
func (s *State) Draft(d model.DeviceID) (*Draft, error) {
	if err := s.Access(d); err != nil {
		return nil, err
	}
	return &Draft{tail: s.Tail(d).Clone(), door: s.doors[d], changes: s.changes}, nil
}

// Write adds an operation and says which id it has.
func (d *Draft) Write(stamp hlc.Stamp, body any) (model.FactID, error) {
	before := *d.tail
	data, ops, err := d.tail.WriteOps(stamp, body)
	if err != nil {
		return model.FactID{}, err
	}
	for _, op := range ops {
		if err := d.check(op); err != nil {
			*d.tail = before
			return model.FactID{}, err
		}
	}
	if d.Ops == nil { // most drafts are one operation
		d.Ops, d.read = data, ops
	} else {
		d.Ops, d.read = append(d.Ops, data...), append(d.read, ops...)
	}
	return ops[len(ops)-1].ID, nil
}

// check refuses what would not count.
func (d *Draft) check(op *oplog.Op) error {
	if !d.door.may(d.door.now(), op) {
		return oplog.ErrNotAllowed
	}
	if !isMembership(op.Body) {
		return nil
	}
	with := slices.Clone(d.changes)
	at, _ := slices.BinarySearchFunc(with, op, compareOps)
	with = slices.Insert(with, at, op)
	r := judge(with)
	switch {
	case r.counts[op.ID]:
		d.changes = with
		return nil
	case r.allows(op) && r.change(op) != nil:
		return oplog.ErrLastKeeper
	}
	return oplog.ErrNotAllowed
}

// Accept folds a draft in. The state must not have changed since Draft.
func (s *State) Accept(d *Draft) {
	s.tails[d.tail.Device()] = d.tail
	s.fold(d.read)
}

// Replay folds in an operation that this replica wrote earlier and has not signed
// yet. It must continue the device's log.
func (s *State) Replay(d model.DeviceID, op []byte) error {
	door := s.doors[d]
	if door == nil {
		return oplog.ErrStranger
	}
	tail := s.Tail(d).Clone()
	read, err := tail.Replay(op)
	if err != nil {
		return err
	}
	if !door.may(s.most[door.member], read) {
		return oplog.ErrNotAllowed
	}
	s.tails[d] = tail
	s.fold([]*oplog.Op{read})
	return nil
}
