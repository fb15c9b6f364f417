// Package phototest holds the suite of tests that every photo.Store must pass, a
// store in memory, and sample photos.
package phototest

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo"
)

// The households of the suite. other is there to stay untouched.
var (
	home  = Household(1)
	other = Household(2)
)

// Run runs the suite. open gives a new, empty store each time and arranges for its
// end with t.Cleanup.
func Run(t *testing.T, open func(t *testing.T) photo.Store) {
	for _, test := range []struct {
		name string
		run  func(*testing.T, photo.Store)
	}{
		{"an empty shelf is no error", emptyShelf},
		{"what is put can be read", putRead},
		{"the store keeps no slice", keepsNoSlice},
		{"putting twice counts once", putTwice},
		{"putting replaces", putReplaces},
		{"copies can be put again", putDerivative},
		{"households are apart", apart},
		{"deleted is gone", deleted},
		{"what is set aside is missing until it is put again", setAside},
		{"each goes in order and stops", each},
		{"an ended context does nothing", ended},
		{"many at once", manyAtOnce},
	} {
		t.Run(test.name, func(t *testing.T) { test.run(t, open(t)) })
	}
}

func emptyShelf(t *testing.T, s photo.Store) {
	ctx, sum := t.Context(), photo.SumOf(nil)
	there, err := s.Has(ctx, home, sum)
	require.NoError(t, err)
	require.False(t, there)
	_, _, err = s.Read(ctx, home, sum)
	require.ErrorIs(t, err, photo.ErrUnknown)
	_, err = s.Stat(ctx, home, sum)
	require.ErrorIs(t, err, photo.ErrUnknown)
	_, err = s.ReadDerivative(ctx, home, sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrUnknown)
	require.ErrorIs(t, s.PutDerivative(ctx, home, sum, photo.Small, nil), photo.ErrUnknown)
	require.NoError(t, s.Delete(ctx, home, sum))
	require.Empty(t, sums(t, s))
	requireUsage(t, s, 0)
}

func putRead(t *testing.T, s photo.Store) {
	ctx, p := t.Context(), Photo(1)
	require.NoError(t, s.Put(ctx, home, p))
	there, err := s.Has(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.True(t, there)
	b, info, err := s.Read(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, p.Kept, b)
	require.Equal(t, p.Info, info)
	info, err = s.Stat(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, p.Info, info)
	small, err := s.ReadDerivative(ctx, home, p.Info.Sum, photo.Small)
	require.NoError(t, err)
	require.Equal(t, p.Derivatives[photo.Small], small)
	_, err = s.ReadDerivative(ctx, home, p.Info.Sum, photo.Large)
	require.ErrorIs(t, err, photo.ErrNoDerivative)
	requireUsage(t, s, p.Info.Bytes)
}

func keepsNoSlice(t *testing.T, s photo.Store) {
	ctx, p := t.Context(), Photo(1)
	want := bytes.Clone(p.Kept)
	require.NoError(t, s.Put(ctx, home, p))
	clear(p.Kept)
	b, _, err := s.Read(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, want, b)
	clear(b)
	b, _, err = s.Read(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, want, b)
}

func putTwice(t *testing.T, s photo.Store) {
	p := Photo(1)
	require.NoError(t, s.Put(t.Context(), home, p))
	require.NoError(t, s.Put(t.Context(), home, p))
	require.Equal(t, []photo.Sum{p.Info.Sum}, sums(t, s))
	requireUsage(t, s, p.Info.Bytes)
}

// putReplaces: a later version that strips more stores other bytes under the sum.
func putReplaces(t *testing.T, s photo.Store) {
	ctx, p := t.Context(), Photo(1)
	require.NoError(t, s.Put(ctx, home, p))
	p.Kept = append(bytes.Clone(p.Kept), "longer"...)
	p.Info.Kept, p.Info.Bytes = photo.SumOf(p.Kept), int64(len(p.Kept))
	require.NoError(t, s.Put(ctx, home, p))
	b, info, err := s.Read(ctx, home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, p.Kept, b)
	require.Equal(t, p.Info, info)
	requireUsage(t, s, p.Info.Bytes)
}

func putDerivative(t *testing.T, s photo.Store) {
	ctx, p := t.Context(), Photo(1)
	require.NoError(t, s.Put(ctx, home, p))
	for _, text := range []string{"first", "second"} {
		require.NoError(t, s.PutDerivative(ctx, home, p.Info.Sum, photo.Large, []byte(text)))
		b, err := s.ReadDerivative(ctx, home, p.Info.Sum, photo.Large)
		require.NoError(t, err)
		require.Equal(t, text, string(b))
	}
	requireUsage(t, s, p.Info.Bytes)
}

func apart(t *testing.T, s photo.Store) {
	ctx, p := t.Context(), Photo(1)
	require.NoError(t, s.Put(ctx, other, p))
	_, _, err := s.Read(ctx, home, p.Info.Sum)
	require.ErrorIs(t, err, photo.ErrUnknown)
	_, err = s.ReadDerivative(ctx, home, p.Info.Sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrUnknown)
	require.Empty(t, sums(t, s))
	requireUsage(t, s, 0)
	require.NoError(t, s.Delete(ctx, home, p.Info.Sum))
	_, _, err = s.Read(ctx, other, p.Info.Sum)
	require.NoError(t, err)
}

func deleted(t *testing.T, s photo.Store) {
	ctx, p, q := t.Context(), Photo(1), Photo(2)
	require.NoError(t, s.Put(ctx, home, p))
	require.NoError(t, s.Put(ctx, home, q))
	require.NoError(t, s.Delete(ctx, home, p.Info.Sum))
	_, _, err := s.Read(ctx, home, p.Info.Sum)
	require.ErrorIs(t, err, photo.ErrUnknown)
	_, err = s.ReadDerivative(ctx, home, p.Info.Sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrUnknown)
	require.Equal(t, []photo.Sum{q.Info.Sum}, sums(t, s))
	requireUsage(t, s, q.Info.Bytes)
	require.NoError(t, s.Delete(ctx, home, p.Info.Sum))
	requireUsage(t, s, q.Info.Bytes)
}

// setAside puts a photo whose bytes are not what its info says, which is what damage
// looks like to a store.
func setAside(t *testing.T, s photo.Store) {
	ctx, sound, damaged := t.Context(), Photo(1), Photo(2)
	require.NoError(t, s.SetAside(ctx, home, sound.Info.Sum), "what is not there need not go")
	damaged.Info.Kept = photo.SumOf(nil)
	for _, p := range []photo.Photo{sound, damaged} {
		require.NoError(t, s.Put(ctx, home, p))
		require.NoError(t, s.SetAside(ctx, home, p.Info.Sum))
	}
	missing, err := photo.Missing(ctx, s, home, []photo.Sum{sound.Info.Sum, damaged.Info.Sum, {}})
	require.NoError(t, err)
	require.Equal(t, []photo.Sum{damaged.Info.Sum, {}}, missing)
	_, _, err = s.Read(ctx, home, sound.Info.Sum)
	require.NoError(t, err, "a sound photo stays as it is")
	_, _, err = s.Read(ctx, home, damaged.Info.Sum)
	require.ErrorIs(t, err, photo.ErrDamagedAtRest)
	_, err = s.ReadDerivative(ctx, home, damaged.Info.Sum, photo.Small)
	require.NoError(t, err, "the copies may be all that is left")
	require.Len(t, sums(t, s), 2)
	require.NoError(t, s.Put(ctx, home, Photo(2)))
	there, err := s.Has(ctx, home, damaged.Info.Sum)
	require.NoError(t, err)
	require.True(t, there)
	_, _, err = s.Read(ctx, home, damaged.Info.Sum)
	require.NoError(t, err)
	requireUsage(t, s, sound.Info.Bytes+damaged.Info.Bytes)
}

func each(t *testing.T, s photo.Store) {
	var want []photo.Sum
	for seed := range uint64(9) {
		p := Photo(seed)
		want = append(want, p.Info.Sum)
		require.NoError(t, s.Put(t.Context(), home, p))
	}
	slices.SortFunc(want, func(a, b photo.Sum) int { return bytes.Compare(a[:], b[:]) })
	require.Equal(t, want, sums(t, s))
	stop, calls := errors.New("stop"), 0
	err := s.Each(t.Context(), home, func(photo.Sum) error { calls++; return stop })
	require.ErrorIs(t, err, stop)
	require.Equal(t, 1, calls)
}

func ended(t *testing.T, s photo.Store) {
	p := Photo(1)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, s.Put(ctx, home, p), context.Canceled)
	require.Empty(t, sums(t, s))
	require.NoError(t, s.Put(t.Context(), home, p))
	require.ErrorIs(t, s.Delete(ctx, home, p.Info.Sum), context.Canceled)
	_, _, err := s.Read(ctx, home, p.Info.Sum)
	require.ErrorIs(t, err, context.Canceled)
	require.Len(t, sums(t, s), 1)
}

// manyAtOnce puts, reads and deletes from several goroutines, then compares with
// what must be left: the photos with odd seeds.
func manyAtOnce(t *testing.T, s photo.Store) {
	const workers, photos = 4, 6
	failures := make(chan error, workers*photos)
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for seed := range uint64(photos) {
				p := Photo(seed)
				err := s.Put(t.Context(), home, p)
				if _, _, e := s.Read(t.Context(), home, p.Info.Sum); !errors.Is(e, photo.ErrUnknown) {
					err = errors.Join(err, e)
				}
				failures <- err
			}
		})
	}
	all.Wait()
	close(failures)
	for err := range failures {
		require.NoError(t, err)
	}
	var left int64
	for seed := range uint64(photos) {
		p := Photo(seed)
		if seed%2 == 0 {
			require.NoError(t, s.Delete(t.Context(), home, p.Info.Sum))
		} else {
			left += p.Info.Bytes
		}
	}
	require.Len(t, sums(t, s), photos/2)
	requireUsage(t, s, left)
}

// sums lists home's photos.
func sums(t *testing.T, s photo.Store) (all []photo.Sum) {
	t.Helper()
	require.NoError(t, s.Each(t.Context(), home, func(sum photo.Sum) error {
		all = append(all, sum)
		return nil
	}))
	return all
}

func requireUsage(t *testing.T, s photo.Store, want int64) {
	t.Helper()
	got, err := s.Usage(t.Context(), home)
	require.NoError(t, err)
	require.Equal(t, want, got)
}
