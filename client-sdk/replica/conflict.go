package replica

import (
	"context"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// ErrSettled says that a conflict is not there any more.
var ErrSettled = fault.New("conflict_settled", "Somebody has settled this already.")

// Conflicts gives the fields of a record that people set without knowing of each other.
func (r *Replica) Conflicts(ref model.Ref) []merge.Conflict {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Conflicts(ref)
}

// Lost gives the settings of a field that lost against one made at the same time.
func (r *Replica) Lost(ref model.Ref, key model.FieldKey) []merge.Write {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Lost(ref, key)
}

// Choose ends a conflict: the setting by counts from now on, be it the one that counts
// already or one that had lost, and all others are known to have been seen.
func (r *Replica) Choose(ctx context.Context, ref model.Ref, key model.FieldKey, by model.FactID) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	var chosen *merge.Write
	lost := r.state.Lost(ref, key)
	all := append([]merge.Write{r.state.Current(ref, key)}, lost...)
	for i := range all {
		if all[i].By == by {
			chosen = &all[i]
		}
	}
	if chosen == nil || len(lost) == 0 {
		return ErrSettled
	}
	var ops []any
	for _, w := range all {
		if w.By != by {
			ops = append(ops, &oplog.Set{Record: ref, Fields: []oplog.Setting{{Key: key, Value: chosen.Value, Over: w.By}}})
		}
	}
	_, err := r.do(ctx, ops)
	return err
}

// Removals gives the records that somebody removed while others changed them. To bring
// one back is to set its field again; to leave it removed is to remove it again.
func (r *Replica) Removals() []merge.Removal {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Removals()
}
