package upload_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/upload"
)

// errReset is what a connection that breaks gives.
var errReset = upload.ErrCut.Because(errors.New("connection reset by peer"))

// broken gives its bytes and then an error.
func broken(b []byte) io.Reader { return io.MultiReader(bytes.NewReader(b), failing{errReset}) }

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// TestBrokenPieces sends pieces whose bytes end in many ways. What is kept is always
// the start of the file, and the text of an error never becomes part of it.
func TestBrokenPieces(t *testing.T) {
	file := bytes.Repeat([]byte("0123456789"), 300_000)
	long := int64(len(file))
	for _, c := range []struct {
		name string
		p    upload.Piece
		want int64
		err  error
	}{
		{"cut in a short piece", upload.Piece{Length: 1000, Body: broken(file[:700])}, 700, upload.ErrCut},
		{"cut in a long piece", upload.Piece{Length: long, Body: broken(file[:2_500_000])}, 2_500_000, upload.ErrCut},
		{"cut before the first byte", upload.Piece{Length: 1000, Body: broken(nil)}, 0, upload.ErrCut},
		{"cut after the last byte", upload.Piece{Length: 1000, Body: broken(file[:1000])}, 1000, upload.ErrCut},
		{"cut, all or nothing", upload.Piece{Length: long, Body: broken(file[:2_500_000]), Whole: true}, 0, upload.ErrCut},
		{"whole, all or nothing", upload.Piece{Length: 2_500_000, Body: bytes.NewReader(file[:2_500_000]), Whole: true}, 2_500_000, nil},
		{"of unknown length", upload.Piece{Length: -1, Body: bytes.NewReader(file[:2_500_000])}, 2_500_000, nil},
		{"of unknown length, empty", upload.Piece{Length: -1, Body: bytes.NewReader(nil)}, 0, nil},
		{"of unknown length, whole file", upload.Piece{Length: -1, Body: bytes.NewReader(file)}, long, nil},
		{"of unknown length, a byte too many", upload.Piece{Length: -1, Body: bytes.NewReader(append(slices.Clone(file), 'x')), Whole: true}, 0, upload.ErrPastEnd},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, ctx := newRigOf(t, t.TempDir(), long), t.Context()
			u, err := r.Create(ctx, home, promise(file))
			require.NoError(t, err)
			u, err = r.Append(ctx, home, u.ID, c.p)
			require.ErrorIs(t, err, c.err)
			require.Equal(t, c.want, u.Offset)
			r.open(t)
			seen, err := r.Stat(ctx, home, u.ID)
			require.NoError(t, err)
			require.Equal(t, u, seen)
			u, err = r.Append(ctx, home, u.ID, piece(u.Offset, file[u.Offset:]))
			require.NoError(t, err)
			require.True(t, u.Complete())
			require.True(t, bytes.Equal(file, r.files[u.Sum]))
		})
	}
}

func TestBytesAfterTheEnd(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	u, err := r.Create(ctx, home, promise([]byte("x")))
	require.NoError(t, err)
	_, err = r.Append(ctx, home, u.ID, piece(0, []byte("x")))
	require.NoError(t, err)
	_, err = r.Append(ctx, home, u.ID, upload.Piece{Offset: 1, Length: -1, Body: bytes.NewReader([]byte("y"))})
	require.ErrorIs(t, err, upload.ErrPastEnd)
	u, err = r.Append(ctx, home, u.ID, upload.Piece{Offset: 1, Length: -1, Body: bytes.NewReader(nil)})
	require.NoError(t, err)
	require.True(t, u.Complete())
	require.NoFileExists(t, r.path(u.ID, ".data"), "nothing may be made in place of the bytes")
}

// stalled gives its bytes and then waits until it is interrupted.
type stalled struct {
	io.Reader
	waiting func()
	ended   chan struct{}
}

func stall(b []byte) (s *stalled, waiting <-chan struct{}) {
	w := make(chan struct{})
	return &stalled{bytes.NewReader(b), sync.OnceFunc(func() { close(w) }), make(chan struct{})}, w
}

func (s *stalled) Read(p []byte) (int, error) {
	if n, err := s.Reader.Read(p); err != io.EOF {
		return n, err
	}
	s.waiting()
	<-s.ended
	return 0, errReset
}

func (s *stalled) interrupt() { close(s.ended) }

// TestTheNewestCounts: a request about an upload ends an append that waits for bytes,
// and finds what that one got.
func TestTheNewestCounts(t *testing.T) {
	file := []byte("0123456789")
	for name, newer := range map[string]func(r *rig, id upload.ID) (int64, error){
		"asking": func(r *rig, id upload.ID) (int64, error) {
			u, err := r.Stat(t.Context(), home, id)
			return u.Offset, err
		},
		"appending where it began": func(r *rig, id upload.ID) (int64, error) {
			u, err := r.Append(t.Context(), home, id, piece(0, file))
			if errors.Is(err, upload.ErrOffset) {
				err = nil
			}
			return u.Offset, err
		},
		"appending where it is": func(r *rig, id upload.ID) (int64, error) {
			_, err := r.Append(t.Context(), home, id, piece(4, file[4:]))
			return 4, err
		},
		"giving up": func(r *rig, id upload.ID) (int64, error) {
			return 4, r.Terminate(t.Context(), home, id)
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, t.TempDir())
			u, err := r.Create(t.Context(), home, promise(file))
			require.NoError(t, err)
			body, waiting := stall(file[:4])
			older := make(chan error, 1)
			go func() {
				got, err := r.Append(t.Context(), home, u.ID, upload.Piece{Length: 10, Body: body, Interrupt: body.interrupt})
				if got.Offset != 4 {
					err = errors.Join(err, errors.New("the older append lost what it got"))
				}
				older <- err
			}()
			<-waiting
			offset, err := newer(r, u.ID)
			require.NoError(t, err)
			require.EqualValues(t, 4, offset)
			require.Equal(t, errReset.Error(), errors.Unwrap(<-older).Error())
		})
	}
}

// impatient is a context that ends at the first wait.
type impatient struct {
	context.Context
	looks int
}

func (c *impatient) Err() error {
	if c.looks++; c.looks <= 2 { // the lock on creating, and the busy upload before the wait
		return nil
	}
	return context.Canceled
}

func (*impatient) Done() <-chan struct{} {
	ended := make(chan struct{})
	close(ended)
	return ended
}

// TestSweepingInterruptsNobody: sweeping waits for an append that waits for bytes.
func TestSweepingInterruptsNobody(t *testing.T) {
	r, file := newRig(t, t.TempDir()), []byte("0123456789")
	u, err := r.Create(t.Context(), home, promise(file))
	require.NoError(t, err)
	body, waiting := stall(file[:4])
	older := make(chan error, 1)
	go func() {
		_, err := r.Append(t.Context(), home, u.ID, upload.Piece{Length: 10, Body: body, Interrupt: body.interrupt})
		older <- err
	}()
	<-waiting
	_, err = r.Sweep(&impatient{Context: t.Context()})
	require.ErrorIs(t, err, context.Canceled)
	select {
	case <-body.ended:
		require.Fail(t, "the append was interrupted")
	default:
	}
	_, err = r.Stat(t.Context(), home, u.ID)
	require.NoError(t, err)
	require.ErrorIs(t, <-older, upload.ErrCut)
}

func TestCreateComplete(t *testing.T) {
	r, ctx, file := newRig(t, t.TempDir()), t.Context(), []byte("0123456789")
	u, err := r.CreateComplete(ctx, home, promise(file))
	require.NoError(t, err)
	require.True(t, u.Complete())
	require.Empty(t, r.files, "nothing was sent, so nothing is stored")
	r.open(t)
	seen, err := r.Stat(ctx, home, u.ID)
	require.NoError(t, err)
	require.Equal(t, u, seen)
	for range 5 { // more than may be open at once
		_, err = r.CreateComplete(ctx, home, promise(file))
		require.NoError(t, err)
	}
}
