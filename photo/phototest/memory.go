package phototest

import (
	"bytes"
	"context"
	"errors"
	"maps"
	"slices"
	"sync"

	"leafturn/model"
	"leafturn/photo"
)

// Memory is a photo.Store that forgets. It is the plainest store that passes Run,
// for tests of what sits above a store.
type Memory struct {
	mu     sync.Mutex
	photos map[key]photo.Photo // guarded by mu
	aside  map[key]bool        // guarded by mu
}

type key struct {
	hh  model.HouseholdID
	sum photo.Sum
}

var _ photo.Store = (*Memory)(nil)

// NewMemory gives an empty store.
func NewMemory() *Memory { return &Memory{photos: map[key]photo.Photo{}, aside: map[key]bool{}} }

// Put implements photo.Store.
func (m *Memory) Put(ctx context.Context, hh model.HouseholdID, p photo.Photo) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	p.Kept = bytes.Clone(p.Kept)
	copies := map[photo.Size][]byte{}
	for size, b := range p.Derivatives {
		copies[size] = bytes.Clone(b)
	}
	p.Derivatives = copies
	m.photos[key{hh, p.Info.Sum}] = p
	delete(m.aside, key{hh, p.Info.Sum})
	return nil
}

// get gives a stored photo to calls that hold no lock.
func (m *Memory) get(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (photo.Photo, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return photo.Photo{}, err
	}
	p, ok := m.photos[key{hh, sum}]
	if !ok {
		return photo.Photo{}, photo.ErrUnknown
	}
	p.Derivatives = maps.Clone(p.Derivatives)
	return p, nil
}

// PutDerivative implements photo.Store.
func (m *Memory) PutDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size, jpeg []byte) error {
	p, err := m.get(ctx, hh, sum)
	if err != nil {
		return err
	}
	p.Derivatives[size] = jpeg
	return m.Put(ctx, hh, p)
}

// Read implements photo.Store.
func (m *Memory) Read(ctx context.Context, hh model.HouseholdID, sum photo.Sum) ([]byte, photo.Info, error) {
	p, err := m.get(ctx, hh, sum)
	if err != nil {
		return nil, photo.Info{}, err
	}
	if photo.SumOf(p.Kept) != p.Info.Kept {
		return nil, photo.Info{}, photo.ErrDamagedAtRest
	}
	return bytes.Clone(p.Kept), p.Info, nil
}

// ReadDerivative implements photo.Store.
func (m *Memory) ReadDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size) ([]byte, error) {
	p, err := m.get(ctx, hh, sum)
	if err != nil {
		return nil, err
	}
	b, ok := p.Derivatives[size]
	if !ok {
		return nil, photo.ErrNoDerivative
	}
	return bytes.Clone(b), nil
}

// Stat implements photo.Store.
func (m *Memory) Stat(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (photo.Info, error) {
	p, err := m.get(ctx, hh, sum)
	return p.Info, err
}

// Has implements photo.Store.
func (m *Memory) Has(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	_, ok := m.photos[key{hh, sum}]
	return ok && !m.aside[key{hh, sum}], ctx.Err()
}

// Delete implements photo.Store.
func (m *Memory) Delete(ctx context.Context, hh model.HouseholdID, sum photo.Sum) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	delete(m.photos, key{hh, sum})
	return nil
}

// SetAside implements photo.Store.
func (m *Memory) SetAside(ctx context.Context, hh model.HouseholdID, sum photo.Sum) error {
	if _, _, err := m.Read(ctx, hh, sum); !errors.Is(err, photo.ErrDamagedAtRest) {
		return ignoreUnknown(err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.aside[key{hh, sum}] = true
	return nil
}

func ignoreUnknown(err error) error {
	if errors.Is(err, photo.ErrUnknown) {
		return nil
	}
	return err
}

// Each implements photo.Store.
func (m *Memory) Each(ctx context.Context, hh model.HouseholdID, fn func(photo.Sum) error) error {
	for _, sum := range m.sums(hh) {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := fn(sum); err != nil {
			return err
		}
	}
	return nil
}

func (m *Memory) sums(hh model.HouseholdID) []photo.Sum {
	m.mu.Lock()
	defer m.mu.Unlock()
	var sums []photo.Sum
	for k := range m.photos {
		if k.hh == hh {
			sums = append(sums, k.sum)
		}
	}
	slices.SortFunc(sums, func(a, b photo.Sum) int { return bytes.Compare(a[:], b[:]) })
	return sums
}

// Usage implements photo.Store.
func (m *Memory) Usage(ctx context.Context, hh model.HouseholdID) (int64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var n int64
	for k, p := range m.photos {
		if k.hh == hh {
			n += p.Info.Bytes
		}
	}
	return n, ctx.Err()
}
