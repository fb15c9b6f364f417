package datadir

import (
	"fmt"
	"syscall"

	"leafturn/model/fault"
)

// ErrFull is returned when the disk is too full to take a write.
var ErrFull = fault.New("storage_full", "The server's disk is almost full, so it takes nothing new. Your phone keeps everything and sends it when there is room again.")

// The room that must stay free: a twentieth of the disk, so that a small disk
// can still be used, and never more than reserveMaxBytes, so that a large disk
// is not refused while it has room for years.
const (
	reserveShare    = 20
	reserveMaxBytes = 200 << 20
)

// Space reports the room on a disk, in bytes.
type Space interface {
	Room() (free, total uint64, err error)
}

// Gate says whether the disk has room for a write. It is safe for concurrent use
// when its Space is.
type Gate struct{ space Space }

// NewGate makes a gate over the disk that space reports on.
func NewGate(space Space) *Gate { return &Gate{space: space} }

// Gate is the space gate of the disk that holds the directory.
func (d *Dir) Gate() *Gate { return NewGate(disk(d.path)) }

// Check returns ErrFull while the disk is too full to take a write, and any
// error met while asking: a disk that cannot say how full it is takes no writes.
func (g *Gate) Check() error {
	free, total, err := g.space.Room()
	if err != nil {
		return fmt.Errorf("ask for free space: %w", err)
	}
	if free < min(total/reserveShare, reserveMaxBytes) {
		return ErrFull
	}
	return nil
}

// disk is the Space of the file system that holds a path.
type disk string

// Room counts what an ordinary user may still write, not what is set aside for
// the administrator.
func (d disk) Room() (free, total uint64, err error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(string(d), &st); err != nil {
		return 0, 0, err
	}
	size := uint64(st.Bsize)
	return uint64(st.Bavail) * size, uint64(st.Blocks) * size, nil
}
