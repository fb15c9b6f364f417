package replica

import (
	"context"
	"fmt"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
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
