package sample

import (
	"crypto/ed25519"
	"fmt"
	"io"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// author is a member's phone as it wrote in the past weeks: it knows what it has
// written and what the others have shared with it, and no more. Two authors who
// write between two sharings do not know of each other, as on real phones.
type author struct {
	key    ed25519.PrivateKey
	device model.DeviceID
	state  *merge.State
	clock  *hlc.Clock
	sealed oplog.Head
	open   [][]byte // written after sealed, not yet signed
}

// newKey draws a key from the given randomness, so that the same seed gives the
// same household.
func newKey(random io.Reader) (ed25519.PrivateKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(random, seed); err != nil {
		return nil, fmt.Errorf("draw key: %w", err)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

func publicOf(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

func newAuthor(h model.HouseholdID, key ed25519.PrivateKey, wall func() int64) *author {
	return &author{key: key, device: model.DeviceIDOf(publicOf(key)), state: merge.New(h), clock: hlc.NewClock(wall)}
}

// enter writes and signs the operation that makes the device a member's. What the
// author must know to be let in has been taken in before.
func (a *author) enter(first any) (*oplog.Batch, error) {
	tail := oplog.NewTail(a.state.Household(), a.device)
	start := tail.Head()
	ops, err := tail.Write(a.clock.Now(), first)
	if err != nil {
		return nil, err
	}
	b, err := tail.Seal(a.key, start, ops)
	if err != nil {
		return nil, err
	}
	a.sealed = tail.Head()
	return b, a.take(b)
}

// write adds operations to the author's log, each knowing what the author knows.
func (a *author) write(bodies ...any) (model.FactID, error) {
	draft, err := a.state.Draft(a.device)
	if err != nil {
		return model.FactID{}, err
	}
	var last model.FactID
	for _, body := range bodies {
		if set, ok := body.(*oplog.Set); ok {
			a.over(set)
		}
		if last, err = draft.Write(a.clock.Now(), body); err != nil {
			return last, err
		}
	}
	a.state.Accept(draft)
	a.open = append(a.open, draft.Ops...)
	return last, nil
}

// over notes which settings the author sees and replaces.
func (a *author) over(s *oplog.Set) {
	for i, f := range s.Fields {
		s.Fields[i].Over = a.state.Over(s.Record, f.Key)
	}
}

// seal signs what is open; nil if nothing is.
func (a *author) seal() (*oplog.Batch, error) {
	if len(a.open) == 0 {
		return nil, nil
	}
	tail := a.state.Tail(a.device)
	b, err := tail.Seal(a.key, a.sealed, a.open)
	if err != nil {
		return nil, err
	}
	a.sealed, a.open = tail.Head(), nil
	return b, nil
}

// take folds in what another author has shared; what the author knows already has
// no further effect.
func (a *author) take(batches ...*oplog.Batch) error {
	if refused := a.state.Apply(batches...); len(refused) > 0 {
		return refused[0].Err
	}
	a.clock.Observe(a.state.Stamp())
	return nil
}
