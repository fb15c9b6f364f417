package merge

import (
	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Draft is what one device writes next. It is checked and encoded but not folded
// in, so that the bytes can be put on a disk before anybody is told they are saved.
type Draft struct {
	// Ops are the encoded operations, in order, to be kept as they are.
	Ops [][]byte

	tail *oplog.Tail
	door door
	read []*oplog.Op
}

// Draft begins to write the log of a device that belongs to the household.
func (s *State) Draft(d model.DeviceID) (*Draft, error) {
	door, ok := s.doors[d]
	if !ok {
		return nil, oplog.ErrStranger
	}
	return &Draft{tail: s.Tail(d).Clone(), door: door}, nil
}

// Write adds an operation and says which id it has.
func (d *Draft) Write(stamp hlc.Stamp, body any) (model.FactID, error) {
	before := *d.tail
	data, ops, err := d.tail.WriteOps(stamp, body)
	if err != nil {
		return model.FactID{}, err
	}
	for _, op := range ops {
		if err := d.door.may(op); err != nil {
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

// Accept folds a draft in. The state must not have changed since Draft.
func (s *State) Accept(d *Draft) {
	s.tails[d.tail.Device()] = d.tail
	for _, op := range d.read {
		s.fold(op)
	}
}

// Replay folds in an operation that this replica wrote earlier and has not signed
// yet. It must continue the device's log.
func (s *State) Replay(d model.DeviceID, op []byte) error {
	door, ok := s.doors[d]
	if !ok {
		return oplog.ErrStranger
	}
	tail := s.Tail(d).Clone()
	read, err := tail.Replay(op)
	if err != nil {
		return err
	}
	if err := door.may(read); err != nil {
		return err
	}
	s.tails[d] = tail
	s.fold(read)
	return nil
}
