package badgerdb_test

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/require"
)

// powerCuts says how many cuts to make. The test mounts file systems, so it runs
// only when it is asked for, as root, on Linux, in mounts of its own:
//
//	LEAFTURN_TEST_POWER_CUTS=20 unshare -m go test -run PowerCut ./server/badgerdb
const powerCuts = "LEAFTURN_TEST_POWER_CUTS"

// A power cut takes everything that the disk has not confirmed. The disk here is an
// ext4 file system in an image in memory, which is told to stop at once and forget
// what it has not written. Killing the process alone proves nothing: the system
// still writes what the process has handed to it.
func TestPowerCut(t *testing.T) {
	cuts, err := strconv.Atoi(os.Getenv(powerCuts))
	if err != nil {
		t.Skip("mounts file systems; set " + powerCuts + " to the number of cuts, as root")
	}
	t.Run("loses nothing that was acknowledged", func(t *testing.T) {
		gone, total := cutPower(t, cuts)
		require.Greater(t, total, cuts)
		t.Logf("%d cuts, %d batches acknowledged, %d operations lost", cuts, total, gone)
		require.Zero(t, gone)
	})
	t.Run("would be noticed if writes were not synced", func(t *testing.T) {
		lost, _ := cutPower(t, 2, childUnsynced+"=1")
		require.Positive(t, lost)
	})
}

// cutPower lets processes write and cuts the power, again and again on one disk. It
// stops at the first loss.
func cutPower(t *testing.T, cuts int, env ...string) (gone uint64, total int) {
	const seed = 20260317
	rnd := rand.New(rand.NewPCG(seed, 0))
	d := newDisk(t)
	acked := map[int]uint64{}
	for range cuts {
		d.mount()
		total += d.writeAndCut(acked, 20+rnd.IntN(300), env)
		d.unmount()
		d.mount() // replays the journal, as after a cut
		gone = lost(t, d.store(), acked)
		d.unmount()
		if gone > 0 {
			return gone, total
		}
	}
	return 0, total
}

// disk is a file system whose power can be cut.
type disk struct {
	t          *testing.T
	image, dir string
}

func newDisk(t *testing.T) *disk {
	f, err := os.CreateTemp("/dev/shm", "leafturn-disk-")
	require.NoError(t, err)
	require.NoError(t, f.Truncate(512<<20))
	require.NoError(t, f.Close())
	t.Cleanup(func() { os.Remove(f.Name()) })
	d := &disk{t, f.Name(), t.TempDir()}
	d.run("mkfs.ext4", "-q", "-F", d.image)
	return d
}

func (d *disk) run(name string, args ...string) {
	d.t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(d.t, err, "%s", out)
}

func (d *disk) mount()        { d.run("mount", "-o", "loop", d.image, d.dir) }
func (d *disk) unmount()      { d.run("umount", d.dir) }
func (d *disk) store() string { return filepath.Join(d.dir, "store") }

// writeAndCut cuts the power after n acknowledgements, while the writer stands still:
// what it has not said by then, it never says.
func (d *disk) writeAndCut(acked map[int]uint64, n int, env []string) int {
	child := writer(d.store(), env...)
	count := listen(d.t, child, acked, n, func() {
		require.NoError(d.t, child.Process.Signal(syscall.SIGSTOP))
		d.cut()
		require.NoError(d.t, child.Process.Kill())
	})
	require.Error(d.t, child.Wait(), "killed")
	return count
}

// cut stops the file system without writing anything back: the ioctl
// EXT4_IOC_SHUTDOWN with the flag NOLOGFLUSH, see linux/fs/ext4/ext4.h.
func (d *disk) cut() {
	const shutdown, noLogFlush = 0x8004587d, 2
	f, err := os.Open(d.dir)
	require.NoError(d.t, err)
	defer f.Close()
	flag := uint32(noLogFlush)
	_, _, errno := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), shutdown, uintptr(unsafe.Pointer(&flag)))
	require.Zero(d.t, errno, "%v", errno)
}
