package app

import (
	"context"
	"crypto/ed25519"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/upload"
	"leafturn/server/auth"
	"leafturn/server/badgerdb"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/server/httpapi"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
)

// serve puts a server together from the parts of the true one, on an empty folder and
// a port of its own, by the world's clock. The program itself runs by the machine's.
func (w *world) serve(t *testing.T) {
	t.Helper()
	quiet := slog.New(slog.DiscardHandler)
	dir, err := datadir.Open(t.TempDir())
	require.NoError(t, err)
	closing(t, dir)
	logs, err := badgerdb.Open(dir.Store(), badgerdb.Config{Gate: dir.Gate(), Log: quiet})
	require.NoError(t, err)
	closing(t, logs)
	photos, uploads := w.openPhotos(t, dir)
	service, setup := household.New(logs, w.now), auth.NewSetup(w.now)
	reminders := &httpapi.Reminders{Service: notify.New(notify.Config{
		Store: logs, Households: service, Check: webpush.Public.Check, Now: w.now, Log: quiet,
	})}
	routes := &httpapi.Households{Service: service, Setup: setup}
	key := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	api := httpapi.New(httpapi.Config{
		Auth: auth.New(key, service, w.now), Log: quiet, Now: w.now,
		Public: []httpapi.Mount{routes.Public, reminders.Public},
		Member: []httpapi.Mount{routes.Member, reminders.Member, httpapi.MemberPhotos(dir.Gate(), photos, uploads)},
	})
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	served := make(chan error, 1)
	go func() { served <- api.Listener(ln) }()
	t.Cleanup(func() {
		require.NoError(t, api.Shutdown())
		require.NoError(t, <-served)
	})
	w.origin = "http://" + ln.Addr().String()
	well, err := http.Get(w.origin + "/healthz") // before it answers, it cannot be told to stop
	require.NoError(t, err)
	require.NoError(t, well.Body.Close())
	w.setup, _ = setup.Issue(time.Hour)
}

func (w *world) openPhotos(t *testing.T, dir *datadir.Dir) (*dirstore.Store, *upload.Desk) {
	photos, err := dirstore.Open(dir.Photos())
	require.NoError(t, err)
	closing(t, photos)
	finish := func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, r io.ReaderAt, size int64) error {
		_, err := photo.Receive(ctx, photos, hh, sum, r, size, photo.DefaultLimits())
		return err
	}
	uploads, err := upload.Open(filepath.Join(dir.Path(), "uploads"), finish, upload.DefaultLimits(), w.now)
	require.NoError(t, err)
	closing(t, uploads)
	return photos, uploads
}

func closing(t *testing.T, c io.Closer) {
	t.Cleanup(func() { require.NoError(t, c.Close()) })
}
