package datadir_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/datadir"
)

func TestOpenMakesAPrivateFolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "leafturn")
	d, err := datadir.Open(path)
	require.NoError(t, err)
	defer d.Close()

	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	require.Equal(t, path, d.Path())
	require.Equal(t, filepath.Join(path, "badger"), d.Store())
	require.Equal(t, filepath.Join(path, "photos"), d.Photos())
	require.Equal(t, filepath.Join(path, "server.key"), d.Key())
	require.Equal(t, filepath.Join(path, "push.key"), d.SenderKey())
	require.NoError(t, d.Gate().Check(), "the disk of the test is not full")
}

func TestSecondOpenIsRefusedUntilTheFirstCloses(t *testing.T) {
	path := t.TempDir()
	first, err := datadir.Open(path)
	require.NoError(t, err)

	_, err = datadir.Open(path)
	require.ErrorIs(t, err, datadir.ErrInUse)
	f, ok := fault.From(err)
	require.True(t, ok)
	require.Contains(t, f.Words, path)
	require.Contains(t, f.Words, "process "+strconv.Itoa(os.Getpid()))

	require.NoError(t, first.Close())
	again, err := datadir.Open(path)
	require.NoError(t, err)
	require.NoError(t, again.Close())
}

// A killed process cannot tidy up, so a lock file that is left behind must not
// keep the next one out.
func TestLockOfAKilledProcessIsFree(t *testing.T) {
	if path := os.Getenv("DATADIR_HOLD"); path != "" {
		_, err := datadir.Open(path)
		require.NoError(t, err)
		os.Stdout.WriteString("held\n")
		select {}
	}
	path := t.TempDir()
	child := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$")
	child.Env = append(os.Environ(), "DATADIR_HOLD="+path)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	_, err = out.Read(make([]byte, 8))
	require.NoError(t, err)

	_, err = datadir.Open(path)
	require.ErrorIs(t, err, datadir.ErrInUse)

	require.NoError(t, child.Process.Kill())
	_ = child.Wait()
	d, err := datadir.Open(path)
	require.NoError(t, err)
	require.NoError(t, d.Close())
}

func TestUnwritable(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	lockIsFolder := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(lockIsFolder, "lock"), 0o700))
	sealed := t.TempDir()
	require.NoError(t, os.Chmod(sealed, 0o500))

	paths := map[string]string{
		"below a file":     filepath.Join(file, "data"),
		"is a file":        file,
		"lock is a folder": lockIsFolder,
		"system folder":    "/proc/leafturn",
	}
	if os.Geteuid() != 0 { // an administrator may write into a sealed folder
		paths["sealed folder"] = sealed
	}
	for name, path := range paths {
		t.Run(name, func(t *testing.T) {
			_, err := datadir.Open(path)
			require.ErrorIs(t, err, datadir.ErrUnwritable)
			f, _ := fault.From(err)
			require.Contains(t, f.Words, path)
			require.Contains(t, f.Words, "--data")
		})
	}
}

type room struct {
	free, total uint64
	err         error
}

func (r room) Room() (uint64, uint64, error) { return r.free, r.total, r.err }

func TestGate(t *testing.T) {
	const mb = 1 << 20
	cases := []struct {
		name string
		room room
		full bool
	}{
		{"plenty", room{free: 50_000 * mb, total: 100_000 * mb}, false},
		{"large disk, just above the cap", room{free: 200 * mb, total: 100_000 * mb}, false},
		{"large disk, just below the cap", room{free: 200*mb - 1, total: 100_000 * mb}, true},
		{"small disk, just above a twentieth", room{free: 5 * mb, total: 100 * mb}, false},
		{"small disk, just below a twentieth", room{free: 5*mb - 1, total: 100 * mb}, true},
		{"nothing left", room{total: 100 * mb}, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			err := datadir.NewGate(c.room).Check()
			if c.full {
				require.ErrorIs(t, err, datadir.ErrFull)
				return
			}
			require.NoError(t, err)
		})
	}
	broken := errors.New("no answer")
	require.ErrorIs(t, datadir.NewGate(room{err: broken}).Check(), broken)
}
