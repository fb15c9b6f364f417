package upload

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"leafturn/model"
	"leafturn/photo"
)

const (
	// readSize is how much is read at a time: the memory that an append needs.
	readSize = 64 << 10
	// syncSize is how much a process that is killed in the middle of a long piece may
	// lose. A sync costs less than a millisecond, sending this much takes longer.
	syncSize = 1 << 20
)

// Piece is what one append brings.
type Piece struct {
	Offset int64 // where it goes
	Length int64 // bytes, -1 when only the end of Body tells

	// Body gives the bytes. It ends with io.EOF only where the piece ends; any other
	// error means that the rest does not come.
	Body io.Reader

	// Whole says that the bytes count together or not at all, as those of a piece
	// with a check sum do.
	Whole bool

	// Interrupt makes reads of Body fail, also one that waits. It is called at most
	// once, from another goroutine, while the append runs. nil means that Body never
	// waits.
	Interrupt func()
}

// Append adds a piece at the offset and returns the new state. It returns
//   - ErrOffset with the true state when the offset is another;
//   - ErrPastEnd when the piece is too long;
//   - ErrUnknown or ErrExpired like Stat;
//   - the error that ended Body, with the state that counts what arrived before;
//   - after the last byte, the error of Finish.
//
// An empty piece changes nothing. An append ends an older one to the same upload
// that is still reading, keeps what that one got, and takes its place.
func (d *Desk) Append(ctx context.Context, hh model.HouseholdID, id ID, p Piece) (Upload, error) {
	unlock, err := d.locks.seize(ctx, key{hh, id}, p.Interrupt)
	if err != nil {
		return Upload{}, err
	}
	defer unlock()
	u, err := d.read(hh, id)
	switch {
	case err != nil:
		return Upload{}, err
	case p.Offset != u.Offset:
		return u, ErrOffset.Because(fmt.Errorf("append at %d, the offset is %d", p.Offset, u.Offset))
	case p.Length > u.Length-u.Offset:
		return u, ErrPastEnd.Because(fmt.Errorf("%d bytes at %d of %d", p.Length, u.Offset, u.Length))
	case u.Complete():
		return u, requireEnd(p.Body)
	}
	if u, err = d.take(ctx, hh, u, p); err != nil {
		return u, fmt.Errorf("append to upload: %w", err)
	}
	return u, nil
}

// requireEnd returns ErrPastEnd when there is another byte.
func requireEnd(body io.Reader) error {
	switch n, err := io.ReadFull(body, make([]byte, 1)); {
	case n > 0:
		return ErrPastEnd
	case err == io.EOF:
		return nil
	default:
		return err
	}
}

// take writes the bytes as they come and counts what is safe. It reads one byte more
// than there is room for, to notice a piece that is too long.
func (d *Desk) take(ctx context.Context, hh model.HouseholdID, u Upload, p Piece) (Upload, error) {
	f, err := d.openData(hh, u.ID)
	if err != nil {
		return u, err
	}
	defer f.Close()
	var ended error
	end := u.Offset
	for buf := make([]byte, readSize); ended == nil; {
		var n int
		n, ended = p.Body.Read(buf[:min(readSize, u.Length-end+1)])
		if end+int64(n) > u.Length {
			return u, ErrPastEnd.Because(fmt.Errorf("more than the %d bytes that were left", u.Length-u.Offset))
		}
		if _, err := f.WriteAt(buf[:n], end); err != nil {
			return u, err
		}
		end += int64(n)
		if !p.Whole && end < u.Length && end-u.Offset >= syncSize {
			if u, err = d.count(ctx, hh, u, f, end); err != nil {
				return u, err
			}
		}
	}
	if ended == io.EOF { // itself, as readers give it: a cut may wrap one
		ended = nil
	}
	if ended != nil && p.Whole {
		return u, ended
	}
	if u, err = d.count(ctx, hh, u, f, end); err != nil {
		return u, err
	}
	return u, ended
}

// count syncs the bytes up to end, and only then moves the offset there; to the very
// end only once the whole is stored.
func (d *Desk) count(ctx context.Context, hh model.HouseholdID, u Upload, f *os.File, end int64) (Upload, error) {
	if end == u.Offset {
		return u, nil
	}
	if err := f.Sync(); err != nil {
		return u, err
	}
	if end < u.Length {
		if err := d.writeOffset(hh, u.ID, end); err != nil {
			return u, err
		}
		u.Offset = end
		return u, nil
	}
	if err := d.finish(ctx, hh, u.Sum, f, u.Length); err != nil {
		if photo.Refused(err) {
			return u, errors.Join(err, d.remove(hh, u.ID))
		}
		return u, err
	}
	if err := d.complete(hh, u); err != nil {
		return u, err
	}
	u.Offset = end
	return u, nil
}

// complete moves the offset to the end and forgets the bytes.
func (d *Desk) complete(hh model.HouseholdID, u Upload) error {
	if err := d.writeOffset(hh, u.ID, u.Length); err != nil {
		return err
	}
	return d.tree.Remove(dataFile(hh, u.ID))
}
