package memlog

import (
	"context"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// Replica is a log and the state folded from it: one side of an exchange. It is
// not safe for concurrent use.
type Replica struct {
	State *merge.State
	Log   oplog.Log
}

// NewReplica makes a replica that knows nothing of a household but its id.
func NewReplica(h model.HouseholdID) *Replica { return &Replica{State: merge.New(h), Log: New(h)} }

// Household is the household's id.
func (r *Replica) Household() model.HouseholdID { return r.State.Household() }

// Vector says how far each log is known.
func (r *Replica) Vector() oplog.Vector { return r.State.Vector() }

// Heads says how far each log is known, with the hash of the chain.
func (r *Replica) Heads() map[model.DeviceID]oplog.Head { return r.State.Heads() }

// Devices gives the known devices, whoever invited before whoever was invited.
func (r *Replica) Devices() []model.DeviceID { return r.State.Devices() }

// Read gives the batches of a device after seq.
func (r *Replica) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	return r.Log.Read(ctx, d, after, maxBytes)
}

// Take verifies batches, keeps them and folds them in. What repeats a log under
// other bytes is refused as a fork.
func (r *Replica) Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error) {
	p := r.State.Prepare(batches)
	if err := r.Log.Append(ctx, p.Fresh); err != nil {
		return nil, err
	}
	r.State.Commit(p)
	refused := p.Refused
	for _, b := range p.Known {
		if err := oplog.Repeats(ctx, r.Log, b); err != nil {
			refused = append(refused, merge.Refusal{Batch: b, Err: err})
		}
	}
	return refused, nil
}
