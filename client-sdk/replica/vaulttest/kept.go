package vaulttest

import (
	"context"
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

func settings(t *testing.T, s Store) {
	ctx, v := context.Background(), s.Open(t, "main")
	requireKept(t, v, "theme", nil)
	theme := []byte("dark")
	require.NoError(t, v.Keep(ctx, "theme", theme), "settings need no set-up")
	require.NoError(t, v.Keep(ctx, "blank", []byte{}))
	copy(theme, "grey")
	got, err := v.Kept(ctx, "theme")
	require.NoError(t, err)
	copy(got, "pink")
	lasts(t, s, v, func(v replica.Vault) {
		requireKept(t, v, "theme", []byte("dark"))
		requireKept(t, v, "blank", []byte{})
	})
	v = s.Open(t, "main")
	require.NoError(t, v.Keep(ctx, "theme", []byte("light")))
	require.NoError(t, v.Keep(ctx, "blank", nil))
	requireKept(t, v, "theme", []byte("light"))
	requireKept(t, v, "blank", nil)

	snapshot, err := v.Snapshot(ctx)
	require.NoError(t, err)
	require.Nil(t, snapshot)
	data := []byte{1, 2, 3}
	require.NoError(t, v.SaveSnapshot(ctx, data))
	require.NoError(t, v.SaveSnapshot(ctx, []byte{4, 5}))
	data[0] = 9
	lasts(t, s, v, func(v replica.Vault) {
		snapshot, err = v.Snapshot(ctx)
		require.NoError(t, err)
		require.Equal(t, []byte{4, 5}, snapshot)
		snapshot[0] = 9
	})
}

func requireKept(t *testing.T, v replica.Vault, name string, want []byte) {
	t.Helper()
	got, err := v.Kept(context.Background(), name)
	require.NoError(t, err)
	require.Equal(t, want, got)
}

// photo makes a photo whose bytes are not those of a picture: a vault never looks.
func photo(n int, added model.Instant) (replica.Photo, []byte) {
	data := fmt.Appendf(nil, "the bytes of photo %d", n)
	return replica.Photo{Sum: sha256.Sum256(data), Type: "image/jpeg", Bytes: len(data), Added: added}, data
}

func photos(t *testing.T, s Store) {
	ctx := context.Background()
	v, _ := opened(t, s)
	a, dataA := photo(1, 3000)
	b, dataB := photo(2, 1000)
	c, dataC := photo(3, 2000)
	for _, p := range []struct {
		p    replica.Photo
		data []byte
	}{{a, dataA}, {b, dataB}, {c, dataC}} {
		require.NoError(t, v.PutPhoto(ctx, p.p, p.data))
	}
	dataA[0] = 'X'
	again := a
	again.Added, again.Upload = 1, "elsewhere"
	require.NoError(t, v.PutPhoto(ctx, again, []byte("other bytes")))
	requireQueue(t, v, b, c, a)
	requireBytes(t, v, a.Sum, 0, "image/jpeg", "the bytes of photo 1")

	b.Upload, b.Tries, b.Code, b.Words, b.Held = "/u/1", 2, "photo_too_large", "Too large.", true
	c.Sent = true
	require.NoError(t, v.UpdatePhoto(ctx, b))
	require.NoError(t, v.UpdatePhoto(ctx, c))
	requireQueue(t, v, b, a)
	requireBytes(t, v, c.Sum, 0, "image/jpeg", string(dataC))
	stranger, _ := photo(4, 1)
	require.ErrorIs(t, v.UpdatePhoto(ctx, stranger), replica.ErrNoPhoto)
	requireQueue(t, v, b, a)

	renderings(t, v, a, stranger.Sum)
	v = reopen(t, s)
	requireQueue(t, v, b, a)
	requireBytes(t, v, a.Sum, 320, "image/webp", "smaller")
	requireBytes(t, v, b.Sum, 0, "image/jpeg", string(dataB))

	require.NoError(t, v.DropPhoto(ctx, a.Sum))
	require.NoError(t, v.DropPhoto(ctx, a.Sum), "dropping again changes nothing")
	requireQueue(t, v, b)
	requireNoBytes(t, v, a.Sum, 0)
	requireNoBytes(t, v, a.Sum, 320)
	requireBytes(t, v, b.Sum, 0, "image/jpeg", string(dataB))
	require.NoError(t, v.PutPhoto(ctx, a, []byte("back")), "a dropped photo can come back")
	requireBytes(t, v, a.Sum, 0, "image/jpeg", "back")
}

func renderings(t *testing.T, v replica.Vault, a replica.Photo, stranger model.PhotoSum) {
	t.Helper()
	ctx := context.Background()
	requireNoBytes(t, v, a.Sum, 320)
	small := []byte("small")
	require.NoError(t, v.PutRendering(ctx, a.Sum, 320, "image/webp", small))
	copy(small, "other")
	requireBytes(t, v, a.Sum, 320, "image/webp", "small")
	require.NoError(t, v.PutRendering(ctx, a.Sum, 320, "image/webp", []byte("smaller")))
	requireBytes(t, v, a.Sum, 320, "image/webp", "smaller")
	requireNoBytes(t, v, a.Sum, 640)

	// A photo that somebody else took comes as a rendering, and is not in the queue.
	require.NoError(t, v.PutRendering(ctx, stranger, 0, "image/png", []byte("whole")))
	requireBytes(t, v, stranger, 0, "image/png", "whole")
	require.ErrorIs(t, v.UpdatePhoto(ctx, replica.Photo{Sum: stranger}), replica.ErrNoPhoto)
}

func requireQueue(t *testing.T, v replica.Vault, want ...replica.Photo) {
	t.Helper()
	got, err := v.Queue(context.Background())
	require.NoError(t, err)
	require.Equal(t, want, got)
}

func requireBytes(t *testing.T, v replica.Vault, sum model.PhotoSum, size int, mime, want string) {
	t.Helper()
	got, gotMime, err := v.PhotoBytes(context.Background(), sum, size)
	require.NoError(t, err)
	require.Equal(t, want, string(got))
	require.Equal(t, mime, gotMime)
	got[0]++
}

func requireNoBytes(t *testing.T, v replica.Vault, sum model.PhotoSum, size int) {
	t.Helper()
	_, _, err := v.PhotoBytes(context.Background(), sum, size)
	require.ErrorIs(t, err, replica.ErrNoPhoto)
}

// lasting fills a vault, reopens it, wipes it and begins again.
func lasting(t *testing.T, s Store) {
	ctx := context.Background()
	v, p := opened(t, s)
	other := s.Open(t, "other")
	begin(t, other, newPen())
	require.NoError(t, other.Keep(ctx, "theme", []byte("dark")))

	batch := p.Batch(t, 2)
	ph, data := photo(1, 1000)
	require.NoError(t, v.Append(ctx, []*oplog.Batch{batch}))
	require.NoError(t, v.AddPending(ctx, ops(batch.Last()+1, batch.Last()+2)))
	require.NoError(t, v.SaveSnapshot(ctx, []byte("snapshot")))
	require.NoError(t, v.Keep(ctx, "theme", []byte("light")))
	require.NoError(t, v.PutPhoto(ctx, ph, data))
	require.NoError(t, v.PutRendering(ctx, ph.Sum, 320, "image/webp", []byte("small")))

	v = reopen(t, s)
	require.Equal(t, batch.Last(), headOf(t, v, p.Device()))
	requirePending(t, v, batch.Last()+1, batch.Last()+2)
	requireKept(t, v, "theme", []byte("light"))
	requireQueue(t, v, ph)

	require.NoError(t, v.Wipe(ctx))
	lasts(t, s, v, func(v replica.Vault) {
		requireEmpty(t, v, batch, ph.Sum)
	})
	v = s.Open(t, "main")
	begin(t, v, newPen())
	require.Zero(t, headOf(t, v, p.Device()))
	requirePending(t, v, 1, 0)
	requireKept(t, s.Open(t, "other"), "theme", []byte("dark"))
}

func requireEmpty(t *testing.T, v replica.Vault, b *oplog.Batch, sum model.PhotoSum) {
	t.Helper()
	ctx := context.Background()
	id, err := v.Identity(ctx)
	require.NoError(t, err)
	require.Nil(t, id)
	requireNobody(t, v, b)
	requireKept(t, v, "theme", nil)
	snapshot, err := v.Snapshot(ctx)
	require.NoError(t, err)
	require.Nil(t, snapshot)
	requireQueue(t, v)
	requireNoBytes(t, v, sum, 0)
	requireNoBytes(t, v, sum, 320)
}
