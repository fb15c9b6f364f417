package exchange

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"hash"
	"io"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// A hand-over file carries from one replica to another, on a stick or from phone to
// phone, what would else go over a network. It holds the messages that the writer
// would send if every one were taken in, so whoever reads it does with each what it
// does with a message. FORMAT.md in package oplog describes the bytes.

// fileHead begins every hand-over file. The number in it is the version.
const (
	fileKind = "leafturn hand-over "
	fileHead = fileKind + "1\n"
)

// Returned by Unpack.
var (
	ErrFile    = fault.New("file_foreign", "This is not a file that one Leafturn writes for another. Nothing was changed.")
	ErrNewFile = fault.New(wire.ErrVersion.Code, "This file was written by a newer Leafturn. Update this one, then take the file in again; nothing is lost.")
	ErrFileCut = fault.New("file_damaged", "This file is not whole. What could be read was taken in; have it written once more for the rest.")
)

// Pack writes to a file what the replica knows beyond the other side's vector, which
// is nil if that is not known: then it writes everything.
func Pack(ctx context.Context, to io.Writer, r Replica, theirs oplog.Vector) error {
	sum := sha256.New()
	out := io.MultiWriter(to, sum)
	if _, err := io.WriteString(out, fileHead); err != nil {
		return err
	}
	p := Peer{theirs: theirs.Join(nil)} // not nil: there is nobody to ask
	for more := true; more; {
		m, err := p.Next(ctx, r)
		if err != nil {
			return err
		}
		for _, b := range m.Batches {
			p.theirs[b.Device] = b.Last()
		}
		m.Stubs = nil // all of each log is in the file, or its beginning in another
		if err := packOne(out, m); err != nil {
			return err
		}
		more = m.More
	}
	if _, err := out.Write(make([]byte, 4)); err != nil {
		return err
	}
	_, err := to.Write(sum.Sum(nil))
	return err
}

// packOne writes a message after its length.
func packOne(to io.Writer, m *wire.Message) error {
	data, err := m.Encode()
	if err != nil {
		return err
	}
	_, err = to.Write(append(binary.BigEndian.AppendUint32(nil, uint32(len(data))), data...))
	return err
}

// Unpack takes in a hand-over file. It gives how far the file's writer knew each log,
// for a file the other way, and what was refused. ErrFileCut comes with both: what
// was read before the damage is taken in. Reading a file again changes nothing.
func Unpack(ctx context.Context, from io.Reader, r Replica) (oplog.Vector, []wire.Refused, error) {
	f := file{from: bufio.NewReader(from), sum: sha256.New()}
	if err := f.head(); err != nil {
		return nil, nil, err
	}
	var p Peer
	for {
		data, err := f.next()
		if err != nil || data == nil {
			return p.theirs, p.allRefused(), err
		}
		m, bad, err := wire.Decode(data)
		if errors.Is(err, wire.ErrVersion) {
			err = ErrNewFile.Because(err)
		}
		if err != nil {
			return p.theirs, p.allRefused(), err
		}
		if err := p.Take(ctx, r, m); err != nil {
			return p.theirs, p.allRefused(), err
		}
		p.Unread(bad)
	}
}

// allRefused gives what was refused and has not been taken in since, by device.
func (p *Peer) allRefused() []wire.Refused {
	var all []wire.Refused
	for _, x := range p.declined {
		all = append(all, x)
	}
	slices.SortFunc(all, func(a, b wire.Refused) int { return model.CompareIDs(a.Device, b.Device) })
	return all
}

// unreadable is the refusal of a batch whose form alone was wrong.
func unreadable(err error) wire.Refused {
	x := wire.Refused{Code: oplog.ErrDamaged.Code, Words: oplog.ErrDamaged.Words}
	if f, ok := fault.From(err); ok {
		x.Code, x.Words = f.Code, f.Words
	}
	if b := (*wire.BadBatch)(nil); errors.As(err, &b) {
		x.Device, x.First = b.Device, b.First
	}
	return x
}

// file reads a hand-over file piece by piece.
type file struct {
	from *bufio.Reader
	sum  hash.Hash // of all that was read
}

// read fills a buffer.
func (f *file) read(into []byte) error {
	if _, err := io.ReadFull(f.from, into); err != nil {
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return ErrFileCut
		}
		return err
	}
	f.sum.Write(into)
	return nil
}

func (f *file) head() error {
	head := make([]byte, len(fileHead))
	if err := f.read(head); errors.Is(err, ErrFileCut) || string(head[:len(fileKind)]) != fileKind {
		return ErrFile
	} else if err != nil {
		return err
	}
	if string(head) != fileHead {
		return ErrNewFile
	}
	return nil
}

// next gives the next message, nil after the last if the file is whole.
func (f *file) next() ([]byte, error) {
	var size [4]byte
	if err := f.read(size[:]); err != nil {
		return nil, err
	}
	n := binary.BigEndian.Uint32(size[:])
	if n > wire.MaxMessageBytes {
		return nil, ErrFileCut
	}
	if n == 0 {
		return nil, f.end()
	}
	data := make([]byte, n)
	return data, f.read(data)
}

// end compares the sum at the end of the file with what was read.
func (f *file) end() error {
	want := f.sum.Sum(nil)
	got := make([]byte, len(want))
	if err := f.read(got); err != nil || string(got) != string(want) {
		return ErrFileCut
	}
	return nil
}
