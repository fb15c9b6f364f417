package upload

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"time"

	"leafturn/model"
)

// version is written into every promise. A reader refuses a newer one.
const version = 1

// record is the content of a json file.
type record struct {
	Version int `json:"version"`
	Promise
	Expires time.Time `json:"expires"`
}

const (
	promiseExt = ".json"
	offsetExt  = ".offset"
	dataExt    = ".data"
)

func promiseFile(hh model.HouseholdID, id ID) string { return file(hh, id, promiseExt) }
func offsetFile(hh model.HouseholdID, id ID) string  { return file(hh, id, offsetExt) }
func dataFile(hh model.HouseholdID, id ID) string    { return file(hh, id, dataExt) }

// file is a path made from typed values only, so nothing a client sends takes
// part in a path.
func file(hh model.HouseholdID, id ID, ext string) string {
	return path.Join(hh.String(), id.String()+ext)
}

// writeNew puts a new upload on the disk. The promise comes last: it makes the
// upload exist.
func (d *Desk) writeNew(hh model.HouseholdID, u Upload) error {
	promise, err := json.Marshal(record{Version: version, Promise: u.Promise, Expires: u.Expires})
	if err != nil {
		return fmt.Errorf("encode promise: %w", err)
	}
	if err := d.tree.Write(dataFile(hh, u.ID)); err != nil {
		return err
	}
	if err := d.tree.Write(offsetFile(hh, u.ID), offsetRecord(0)); err != nil {
		return err
	}
	return d.tree.Write(promiseFile(hh, u.ID), promise)
}

// read gives an upload's state from the disk. The caller holds the upload's lock.
func (d *Desk) read(hh model.HouseholdID, id ID) (Upload, error) {
	b, err := d.tree.Root.ReadFile(promiseFile(hh, id))
	if errors.Is(err, fs.ErrNotExist) {
		return Upload{}, ErrUnknown
	}
	if err != nil {
		return Upload{}, fmt.Errorf("read upload: %w", err)
	}
	var r record
	if err := json.Unmarshal(b, &r); err != nil { // damaged; the client begins again
		return Upload{}, ErrUnknown.Because(err)
	}
	if r.Version != version {
		return Upload{}, fmt.Errorf("upload %v was made by version %d, this is %d", id, r.Version, version)
	}
	if d.now().After(r.Expires) {
		return Upload{}, ErrExpired
	}
	offset, err := d.readOffset(hh, id, r.Length)
	return Upload{Promise: r.Promise, ID: id, Offset: offset, Expires: r.Expires}, err
}

// offsetRecord is the content of an offset file.
func offsetRecord(n int64) []byte {
	b := binary.BigEndian.AppendUint64(nil, uint64(n))
	return binary.BigEndian.AppendUint64(b, ^uint64(n))
}

// readOffset reads the offset and doubts it: a record that is torn counts as 0,
// and no offset is larger than the bytes on the disk, unless the upload is
// complete and its bytes are gone on purpose.
func (d *Desk) readOffset(hh model.HouseholdID, id ID, length int64) (int64, error) {
	b, err := d.tree.Root.ReadFile(offsetFile(hh, id))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("read offset: %w", err)
	}
	var n int64
	if len(b) == 16 && binary.BigEndian.Uint64(b) == ^binary.BigEndian.Uint64(b[8:]) {
		n = int64(binary.BigEndian.Uint64(b))
	}
	if n == length {
		return n, nil
	}
	info, err := d.tree.Root.Stat(dataFile(hh, id))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("read offset: %w", err)
	}
	return max(min(n, info.Size()), 0), nil
}

// writeOffset moves the offset in place: sixteen bytes inside one sector, which a
// disk writes whole or not at all. Should one tear all the same, readOffset sees it.
func (d *Desk) writeOffset(hh model.HouseholdID, id ID, n int64) error {
	f, err := d.tree.Root.OpenFile(offsetFile(hh, id), os.O_WRONLY|os.O_CREATE, 0o600)
	if err != nil {
		return fmt.Errorf("move offset: %w", err)
	}
	_, err = f.WriteAt(offsetRecord(n), 0)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("move offset: %w", err)
	}
	return nil
}

func (d *Desk) openData(hh model.HouseholdID, id ID) (*os.File, error) {
	return d.tree.Root.OpenFile(dataFile(hh, id), os.O_RDWR|os.O_CREATE, 0o600)
}

// remove removes an upload, the promise first, so that it is unknown from then on.
func (d *Desk) remove(hh model.HouseholdID, id ID) error {
	return errors.Join(d.tree.Remove(promiseFile(hh, id)), d.tree.Remove(offsetFile(hh, id)), d.tree.Remove(dataFile(hh, id)))
}
