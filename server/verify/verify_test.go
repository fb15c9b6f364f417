package verify_test

import (
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/phototest"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/server/verify"
)

type roomy struct{}

func (roomy) Check() error { return nil }

// kept is a server's data: one household whose entries show some photos.
type kept struct {
	folder  string
	service *household.Service
	photos  *dirstore.Store
	home    model.HouseholdID
	entries uint64
}

func keep(t *testing.T, shown ...uint64) *kept {
	k := &kept{folder: t.TempDir()}
	now := func() time.Time { return time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC) }
	db, err := badgerdb.Open(t.TempDir(), badgerdb.Config{Gate: roomy{}, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	k.photos, err = dirstore.Open(k.folder)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, k.photos.Close()) })
	k.service = household.New(db, now)

	p := phonetest.Found(t, 1, now)
	k.home = p.Household()
	_, err = k.service.Found(t.Context(), p.Introduction(), func(found func() error) error { return found() })
	require.NoError(t, err)
	look := phonetest.Look(p, 7)
	for _, seed := range shown {
		look.Body.(*model.Inspection).Photos = append(look.Body.(*model.Inspection).Photos, model.PhotoSum(phototest.Photo(seed).Info.Sum))
	}
	_, err = k.service.Exchange(t.Context(), k.home, p.Device(), p.Message(p.Write(t, look)))
	require.NoError(t, err)
	k.entries = p.State.Tail(p.Device()).Head().Seq
	return k
}

func (k *kept) put(t *testing.T, seed uint64) photo.Sum {
	p := phototest.Photo(seed)
	require.NoError(t, k.photos.Put(t.Context(), k.home, p))
	return p.Info.Sum
}

func (k *kept) check(t *testing.T) verify.Report {
	return verify.Household(t.Context(), k.service, k.photos, k.home)
}

func TestASoundHousehold(t *testing.T) {
	k := keep(t, 1, 2)
	k.put(t, 1)
	k.put(t, 2)
	orphan := k.put(t, 3)
	r := k.check(t)
	require.Equal(t, verify.Report{Household: k.home, Entries: k.entries, Photos: 3, Orphans: []photo.Sum{orphan}}, r)
	require.True(t, r.Sound())
}

func TestWhatIsMissingAndWhatIsDamaged(t *testing.T) {
	k := keep(t, 1, 2)
	damaged, missing := k.put(t, 1), phototest.Photo(2).Info.Sum
	k.flip(t, damaged)
	r := k.check(t)
	require.NoError(t, r.Err)
	require.Equal(t, []photo.Sum{damaged}, r.Damaged)
	require.Equal(t, []photo.Sum{damaged, missing}, r.Missing, "a damaged photo was set aside")
	require.False(t, r.Sound())

	k.put(t, 1)
	k.put(t, 2)
	r = k.check(t)
	require.True(t, r.Sound(), "phones have sent them again")
}

// flip changes one bit in the middle of a photo's file.
func (k *kept) flip(t *testing.T, sum photo.Sum) {
	var name string
	require.NoError(t, filepath.WalkDir(k.folder, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.Contains(d.Name(), sum.String()) {
			if info, err := d.Info(); err == nil && info.Size() == int64(len(phototest.Photo(1).Kept)) {
				name = path
			}
		}
		return err
	}))
	require.NotEmpty(t, name)
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	b[len(b)/2] ^= 1
	require.NoError(t, os.WriteFile(name, b, 0o600))
}
