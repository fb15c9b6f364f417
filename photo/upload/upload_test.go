package upload_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/phototest"
	"leafturn/photo/upload"
)

var (
	home  = phototest.Household(1)
	other = phototest.Household(2)
	noon  = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
)

// shelf is a Finish that keeps whole files, and fails when told to.
type shelf struct {
	mu     sync.Mutex
	files  map[photo.Sum][]byte // guarded by mu
	fail   error
	called int
}

func newShelf() *shelf { return &shelf{files: map[photo.Sum][]byte{}} }

func (s *shelf) finish(_ context.Context, _ model.HouseholdID, sum photo.Sum, r io.ReaderAt, size int64) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.called++
	if s.fail != nil {
		return s.fail
	}
	b := make([]byte, size)
	if _, err := r.ReadAt(b, 0); err != nil && err != io.EOF {
		return err
	}
	if photo.SumOf(b) != sum {
		return photo.ErrSumMismatch
	}
	s.files[sum] = b
	return nil
}

// rig is a desk with a clock that a test moves.
type rig struct {
	*upload.Desk
	*shelf
	dir  string
	now  time.Time
	most int64
}

func newRig(t require.TestingT, dir string) *rig { return newRigOf(t, dir, 1<<20) }

// newRigOf takes files of at most so many bytes.
func newRigOf(t require.TestingT, dir string, most int64) *rig {
	r := &rig{shelf: newShelf(), dir: dir, now: noon, most: most}
	r.open(t)
	return r
}

// open opens the folder anew, as a server does that was started again.
func (r *rig) open(t require.TestingT) {
	limits := upload.Limits{Bytes: r.most, Open: 3, Metadata: 100, Life: time.Hour}
	desk, err := upload.Open(r.dir, r.finish, limits, func() time.Time { return r.now })
	require.NoError(t, err)
	r.Desk = desk
}

func promise(file []byte) upload.Promise {
	return upload.Promise{Length: int64(len(file)), Sum: photo.SumOf(file), Metadata: "filename Li4vLi4vZXRj"}
}

// piece is one whose bytes are all there.
func piece(offset int64, b []byte) upload.Piece {
	return upload.Piece{Offset: offset, Length: int64(len(b)), Body: bytes.NewReader(b)}
}

func TestPieces(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	file := []byte("0123456789")
	u, err := r.Create(ctx, home, promise(file))
	require.NoError(t, err)
	require.Equal(t, promise(file), u.Promise)
	require.Zero(t, u.Offset)
	require.Equal(t, noon.Add(time.Hour), u.Expires)
	for _, end := range []int64{3, 3, 9} {
		u, err = r.Append(ctx, home, u.ID, piece(u.Offset, file[u.Offset:end]))
		require.NoError(t, err)
		require.Equal(t, end, u.Offset)
		seen, err := r.Stat(ctx, home, u.ID)
		require.NoError(t, err)
		require.Equal(t, u, seen)
	}
	require.False(t, u.Complete())
	require.Empty(t, r.files)
	u, err = r.Append(ctx, home, u.ID, piece(9, file[9:]))
	require.NoError(t, err)
	require.True(t, u.Complete())
	require.Equal(t, file, r.files[u.Sum])
	r.open(t)
	seen, err := r.Stat(ctx, home, u.ID)
	require.NoError(t, err, "a completed upload is remembered")
	require.Equal(t, u, seen)
	require.NoFileExists(t, r.path(u.ID, ".data"))
}

func (r *rig) path(id upload.ID, ext string) string {
	return filepath.Join(r.dir, home.String(), id.String()+ext)
}

func TestRefusedAppends(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	file := []byte("0123456789")
	u, err := r.Create(ctx, home, promise(file))
	require.NoError(t, err)
	u, err = r.Append(ctx, home, u.ID, piece(0, file[:4]))
	require.NoError(t, err)
	for _, c := range []struct {
		name   string
		hh     model.HouseholdID
		id     upload.ID
		offset int64
		piece  string
		want   error
	}{
		{"before the offset", home, u.ID, 0, "0123", upload.ErrOffset},
		{"past the offset", home, u.ID, 5, "5", upload.ErrOffset},
		{"negative", home, u.ID, -1, "5", upload.ErrOffset},
		{"past the end", home, u.ID, 4, "4567890", upload.ErrPastEnd},
		{"another household", other, u.ID, 4, "4", upload.ErrUnknown},
		{"another id", home, upload.ID{1}, 4, "4", upload.ErrUnknown},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := r.Append(ctx, c.hh, c.id, piece(c.offset, []byte(c.piece)))
			require.ErrorIs(t, err, c.want)
			if c.want != upload.ErrUnknown {
				require.EqualValues(t, 4, got.Offset, "the answer says where to go on")
			}
			seen, err := r.Stat(ctx, home, u.ID)
			require.NoError(t, err)
			require.Equal(t, u, seen)
		})
	}
}

func TestCreateLimits(t *testing.T) {
	r := newRig(t, t.TempDir())
	for name, c := range map[string]struct {
		promise upload.Promise
		want    error
	}{
		"empty":             {upload.Promise{Length: 0}, photo.ErrNotImage},
		"negative":          {upload.Promise{Length: -5}, photo.ErrNotImage},
		"too long":          {upload.Promise{Length: 1<<20 + 1}, photo.ErrTooLarge},
		"too much metadata": {upload.Promise{Length: 1, Metadata: strings.Repeat("x", 101)}, photo.ErrTooLarge},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := r.Create(t.Context(), home, c.promise)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestTooManyAtOnce(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	var last upload.Upload
	for range 3 {
		u, err := r.Create(ctx, home, promise([]byte("x")))
		require.NoError(t, err)
		last = u
	}
	_, err := r.Create(ctx, home, promise([]byte("x")))
	require.ErrorIs(t, err, upload.ErrTooMany)
	_, err = r.Create(ctx, other, promise([]byte("x")))
	require.NoError(t, err, "another household is not concerned")
	_, err = r.Append(ctx, home, last.ID, piece(0, []byte("x")))
	require.NoError(t, err)
	_, err = r.Create(ctx, home, promise([]byte("x")))
	require.NoError(t, err, "a completed upload makes room")
	r.now = noon.Add(2 * time.Hour)
	_, err = r.Create(ctx, home, promise([]byte("x")))
	require.NoError(t, err, "expired uploads make room")
}

// TestRefusedPhotoEndsTheUpload: the whole file arrived and is no photo, so sending
// it again cannot help.
func TestRefusedPhotoEndsTheUpload(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	r.fail = photo.ErrNotImage
	u, err := r.Create(ctx, home, promise([]byte("x")))
	require.NoError(t, err)
	_, err = r.Append(ctx, home, u.ID, piece(0, []byte("x")))
	require.Equal(t, photo.ErrNotImage.Code, fault.CodeOf(err))
	_, err = r.Stat(ctx, home, u.ID)
	require.ErrorIs(t, err, upload.ErrUnknown)
	require.NoFileExists(t, r.path(u.ID, ".data"))
}

// TestFailureToStoreKeepsTheUpload: the offset must not reach the length before the
// photo is stored.
func TestFailureToStoreKeepsTheUpload(t *testing.T) {
	for name, cause := range map[string]error{"disk": errors.New("disk full"), "quota": photo.ErrQuota, "context": context.Canceled} {
		t.Run(name, func(t *testing.T) {
			r, ctx := newRig(t, t.TempDir()), t.Context()
			file := []byte("0123456789")
			u, err := r.Create(ctx, home, promise(file))
			require.NoError(t, err)
			u, err = r.Append(ctx, home, u.ID, piece(0, file[:6]))
			require.NoError(t, err)
			r.fail = cause
			_, err = r.Append(ctx, home, u.ID, piece(6, file[6:]))
			require.ErrorIs(t, err, cause)
			seen, err := r.Stat(ctx, home, u.ID)
			require.NoError(t, err)
			require.Equal(t, u, seen)
			r.fail = nil
			u, err = r.Append(ctx, home, u.ID, piece(6, file[6:]))
			require.NoError(t, err)
			require.True(t, u.Complete())
			require.Equal(t, file, r.files[u.Sum])
		})
	}
}

func TestExpiry(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	old, err := r.Create(ctx, home, promise([]byte("xy")))
	require.NoError(t, err)
	r.now = noon.Add(40 * time.Minute)
	young, err := r.Create(ctx, home, promise([]byte("xy")))
	require.NoError(t, err)
	n, err := r.Sweep(ctx)
	require.NoError(t, err)
	require.Zero(t, n)
	r.now = noon.Add(time.Hour + time.Second)
	_, err = r.Stat(ctx, home, old.ID)
	require.ErrorIs(t, err, upload.ErrExpired)
	_, err = r.Append(ctx, home, old.ID, piece(0, []byte("x")))
	require.ErrorIs(t, err, upload.ErrExpired)
	n, err = r.Sweep(ctx)
	require.NoError(t, err)
	require.Equal(t, 1, n)
	_, err = r.Stat(ctx, home, old.ID)
	require.ErrorIs(t, err, upload.ErrUnknown)
	_, err = r.Append(ctx, home, young.ID, piece(0, []byte("x")))
	require.NoError(t, err)
}

func TestSweepRemovesWhatWasLeftBehind(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	u, err := r.Create(ctx, home, promise([]byte("xy")))
	require.NoError(t, err)
	require.NoError(t, os.Remove(r.path(u.ID, ".json"))) // a kill in the middle of Create or Terminate
	_, err = r.Stat(ctx, home, u.ID)
	require.ErrorIs(t, err, upload.ErrUnknown)
	_, err = r.Sweep(ctx)
	require.NoError(t, err)
	left, err := os.ReadDir(filepath.Join(r.dir, home.String()))
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestTerminate(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	u, err := r.Create(ctx, home, promise([]byte("xy")))
	require.NoError(t, err)
	require.ErrorIs(t, r.Terminate(ctx, other, u.ID), upload.ErrUnknown)
	require.NoError(t, r.Terminate(ctx, home, u.ID))
	require.ErrorIs(t, r.Terminate(ctx, home, u.ID), upload.ErrUnknown)
	_, err = r.Stat(ctx, home, u.ID)
	require.ErrorIs(t, err, upload.ErrUnknown)
	left, err := os.ReadDir(filepath.Join(r.dir, home.String()))
	require.NoError(t, err)
	require.Empty(t, left)
}

// TestFourAtOnce: of four appends at one offset one wins, and no byte is doubled.
func TestFourAtOnce(t *testing.T) {
	r := newRig(t, t.TempDir())
	file := bytes.Repeat([]byte("0123456789"), 100)
	u, err := r.Create(t.Context(), home, promise(file))
	require.NoError(t, err)
	for at := int64(0); at < int64(len(file)); at += 100 {
		results := make(chan error, 4)
		for range 4 {
			go func() {
				_, err := r.Append(t.Context(), home, u.ID, piece(at, file[at:at+100]))
				results <- err
			}()
		}
		won := 0
		for range 4 {
			if err := <-results; err == nil {
				won++
			} else {
				require.ErrorIs(t, err, upload.ErrOffset)
			}
		}
		require.Equal(t, 1, won)
	}
	require.Equal(t, file, r.files[u.Sum])
	require.Equal(t, 1, r.called)
}

func TestWaitingEndsWithTheContext(t *testing.T) {
	entered, release := make(chan struct{}), make(chan struct{})
	slow := func(context.Context, model.HouseholdID, photo.Sum, io.ReaderAt, int64) error {
		close(entered)
		<-release
		return nil
	}
	d, err := upload.Open(t.TempDir(), slow, upload.DefaultLimits(), func() time.Time { return noon })
	require.NoError(t, err)
	u, err := d.Create(t.Context(), home, promise([]byte("x")))
	require.NoError(t, err)
	done := make(chan error, 1)
	go func() {
		_, err := d.Append(t.Context(), home, u.ID, piece(0, []byte("x")))
		done <- err
	}()
	<-entered
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = d.Stat(ctx, home, u.ID)
	require.ErrorIs(t, err, context.Canceled)
	close(release)
	require.NoError(t, <-done)
}

func TestParseID(t *testing.T) {
	id := upload.ID{1, 2, 255}
	parsed, err := upload.ParseID(id.String())
	require.NoError(t, err)
	require.Equal(t, id, parsed)
	for _, text := range []string{"", "../../../etc/passwd", strings.ToUpper(id.String()), id.String() + "0", strings.Repeat(".", 32), strings.Repeat("\x00", 32)} {
		_, err := upload.ParseID(text)
		require.ErrorIs(t, err, upload.ErrUnknown, text)
	}
}
