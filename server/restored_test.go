package main

import (
	"context"
	"encoding/hex"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo/phototest"
	"leafturn/server/auth"
	"leafturn/sync/oplog"
)

// TestARestoredDataFolder puts last week's copy of the data folder back, as a person
// does who runs the server. Nothing in the folder can tell; the phone that had more
// acknowledged can, and the other one, which had sent no entry since, hears of it, so
// that its photo comes back too.
func TestARestoredDataFolder(t *testing.T) {
	ctx := context.Background()
	data, backup := t.TempDir(), filepath.Join(t.TempDir(), "backup")
	r := serve(t, data)
	a, b := sdkPair(t, r)
	plant := model.PlantID(uuid.New())
	sum, err := b.AddPhoto(ctx, phototest.PNG(300, 300, 1))
	require.NoError(t, err)
	_, err = b.Do(ctx, replica.Seen(&model.Inspection{Plant: plant, Photos: []model.PhotoSum{sum}}))
	require.NoError(t, err)
	require.NoError(t, b.Sync(ctx, b.connect(t, r)))
	require.Zero(t, r.interrupt())
	require.NoError(t, os.CopyFS(backup, os.DirFS(data)))

	r = serve(t, data)
	require.NoError(t, b.Upload(ctx, b.connect(t, r), nil))
	_, err = a.Do(ctx, replica.Seen(&model.Inspection{Plant: plant, Note: "after the backup"}))
	require.NoError(t, err)
	require.NoError(t, a.Sync(ctx, a.connect(t, r)))
	require.NoError(t, b.Sync(ctx, b.connect(t, r)))
	require.Zero(t, r.interrupt())
	require.NoError(t, os.RemoveAll(data))
	require.NoError(t, os.CopyFS(data, os.DirFS(backup)))

	r = serve(t, data)
	sa := a.connect(t, r)
	require.NoError(t, a.Sync(ctx, sa))
	require.True(t, a.Status().Restored)
	require.NoError(t, a.ForgetRestored(ctx))
	require.NoError(t, a.Sync(ctx, sa))
	require.False(t, a.Status().Restored, "it is told once")
	sb := b.connect(t, r)
	require.NoError(t, b.Sync(ctx, sb))
	require.True(t, b.Status().Restored)
	require.Zero(t, b.Status().Unsent)
	require.NoError(t, b.Upload(ctx, sb, nil))
	_, _, err = sb.Photo(ctx, sum, 0)
	require.NoError(t, err)
	require.Equal(t, digestOf(t, a), digestOf(t, b))
	require.Zero(t, r.interrupt())
}

// TestALostDataFolder begins with an empty folder after the old one is gone and nobody has
// a copy. Whichever phone opens the new set-up link brings the household back, and the
// other one follows by itself.
func TestALostDataFolder(t *testing.T) {
	for name, founder := range map[string]bool{"the founder's phone": true, "another phone": false} {
		t.Run(name, func(t *testing.T) {
			ctx := context.Background()
			data := t.TempDir()
			r := serve(t, data)
			a, b := sdkPair(t, r)
			sum, err := b.AddPhoto(ctx, phototest.PNG(300, 300, 1))
			require.NoError(t, err)
			_, err = b.Do(ctx, replica.Seen(&model.Inspection{Plant: model.PlantID(uuid.New()), Photos: []model.PhotoSum{sum}}))
			require.NoError(t, err)
			s := b.connect(t, r)
			require.NoError(t, b.Sync(ctx, s))
			require.NoError(t, b.Upload(ctx, s, nil))
			require.NoError(t, a.Sync(ctx, a.connect(t, r)))
			want := digestOf(t, a)
			require.Zero(t, r.interrupt())
			require.NoError(t, os.RemoveAll(data))

			r = serve(t, data)
			require.Equal(t, auth.ErrSetupUnknown.Code, fault.CodeOf(a.Sync(ctx, a.connect(t, r))))
			require.Equal(t, oplog.ErrInvitation.Code, fault.CodeOf(b.Sync(ctx, b.connect(t, r))))
			first, second := a, b
			if !founder {
				first, second = b, a
			}
			require.Equal(t, auth.ErrSetupUnknown.Code, fault.CodeOf(first.Return(ctx, first.connect(t, r), "guessed")))
			require.NoError(t, first.Return(ctx, first.connect(t, r), setupLink.FindStringSubmatch(r.said)[1]))
			require.NoError(t, second.Sync(ctx, second.connect(t, r)))
			require.NoError(t, first.Return(ctx, first.connect(t, r), "once more"), "the household is there")
			s = b.connect(t, r)
			require.NoError(t, b.Upload(ctx, s, nil))
			_, _, err = s.Photo(ctx, sum, 0)
			require.NoError(t, err)
			for _, p := range []*sdkPhone{a, b} {
				require.Equal(t, want, digestOf(t, p))
				require.Zero(t, p.Status().Unsent)
				said, err := p.connect(t, r).Digest(ctx)
				require.NoError(t, err)
				require.Equal(t, hex.EncodeToString(want[:]), said)
			}
			require.Zero(t, r.interrupt())
		})
	}
}

func digestOf(t *testing.T, p *sdkPhone) [32]byte {
	t.Helper()
	d, err := p.Digest()
	require.NoError(t, err)
	return d
}
