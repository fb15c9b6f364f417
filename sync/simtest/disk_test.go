package simtest_test

import (
	"errors"
	"slices"
)

var errDisk = errors.New("the disk could not be written")

// crash is what a disk panics with when its device loses power.
type crash struct{}

// disk is what a device keeps, seen through an interface T that reads and writes it.
// The device sees its writes at once, but they last only when they are synced: a
// loss of power keeps some of the writes made since the last sync, in order, and
// drops the rest. What lasts is a list of writes, so an earlier state of the disk is
// a prefix of it.
type disk[T any] struct {
	blank func() T // an empty disk

	now     T           // as the running device sees it
	lasting []effect[T] // what a loss of power leaves
	loose   []effect[T] // what is in now and not lasting
	fuse    int         // writes and syncs until the power fails, 0 for never
	failing bool        // the next sync fails
	broken  bool        // a sync has failed: nothing that now says can be trusted
	lying   bool        // never syncs: a planted fault that the checks must find
}

// effect is one write.
type effect[T any] struct {
	do   func(T) error
	torn func(T) error // the write half done; nil if it is done whole or not at all
}

func newDisk[T any](blank func() T) *disk[T] { return &disk[T]{blank: blank, now: blank()} }

// step is a moment at which the power may fail.
func (d *disk[T]) step() {
	if d.fuse == 0 {
		return
	}
	if d.fuse--; d.fuse == 0 {
		panic(crash{})
	}
}

// write makes a write that a loss of power may take.
func (d *disk[T]) write(e effect[T]) error {
	d.step()
	if err := e.do(d.now); err != nil {
		return err
	}
	d.loose = append(d.loose, e)
	return nil
}

// keep makes a write and syncs it, and with it all before.
func (d *disk[T]) keep(do func(T) error) error {
	if err := d.write(effect[T]{do: do}); err != nil {
		return err
	}
	d.step()
	if d.failing {
		d.failing, d.broken = false, true
		return errDisk
	}
	if !d.lying {
		d.lasting, d.loose = append(d.lasting, d.loose...), nil
	}
	d.step()
	return nil
}

// lose is what a loss of power does: n of the loose writes had reached the disk, and
// the one after them perhaps in part.
func (d *disk[T]) lose(n int, torn bool) error {
	if torn && n < len(d.loose) && d.loose[n].torn != nil {
		d.loose[n].do = d.loose[n].torn
		n++
	}
	d.lasting = append(d.lasting, d.loose[:n]...)
	return d.replay()
}

// rewind puts an older copy of the disk in its place: as it was after n writes.
func (d *disk[T]) rewind(n int) error {
	d.lasting = slices.Clone(d.lasting[:n])
	return d.replay()
}

func (d *disk[T]) replay() error {
	d.fuse, d.failing, d.broken, d.loose = 0, false, false, nil
	d.now = d.blank()
	for _, e := range d.lasting {
		if err := e.do(d.now); err != nil {
			return err
		}
	}
	return nil
}
