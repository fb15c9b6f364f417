// Package datadir is the folder on disk in which one server keeps everything.
//
// The data directory holds the log store, the photo folder, the server's signing
// key, the key by which push services know it, and a lock. Exactly one process uses it at a time: Open takes the lock
// before any store is opened and the operating system gives it back when the
// process ends, however it ends. The space gate says whether the disk still has
// room for a write, because the log store dies of a full disk and does not start
// again until there is room.
package datadir

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"leafturn/model/fault"
)

// Returned by Open; the words name the folder and say what to do.
var (
	ErrInUse      = fault.New("data_dir_in_use", "Another Leafturn is already using this folder.")
	ErrUnwritable = fault.New("data_dir_unwritable", "Leafturn cannot write to its data folder.")
)

// Dir is an open data directory, held by this process until Close.
type Dir struct {
	path string
	lock *os.File
}

// Open makes the directory if it is missing and takes its lock. It fails with
// ErrUnwritable or ErrInUse and leaves the other process's files untouched.
func Open(path string) (*Dir, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, unwritable(path, err)
	}
	if err := os.MkdirAll(path, 0o700); err != nil {
		return nil, unwritable(path, err)
	}
	lock, err := takeLock(filepath.Join(path, "lock"))
	if err != nil {
		return nil, lockFault(path, err)
	}
	return &Dir{path: path, lock: lock}, nil
}

// Path is the absolute path of the directory.
func (d *Dir) Path() string { return d.path }

// Store is where the log store keeps its files.
func (d *Dir) Store() string { return filepath.Join(d.path, "badger") }

// Photos is the photo folder.
func (d *Dir) Photos() string { return filepath.Join(d.path, "photos") }

// Key is the file of the server's signing key.
func (d *Dir) Key() string { return filepath.Join(d.path, "server.key") }

// SenderKey is the file of the key by which push services know the server.
func (d *Dir) SenderKey() string { return filepath.Join(d.path, "push.key") }

// Close gives the lock back. The lock file stays: removing it would let two
// later processes each lock a different file of the same name.
func (d *Dir) Close() error {
	if err := d.lock.Close(); err != nil {
		return fmt.Errorf("close lock: %w", err)
	}
	return nil
}

var errHeld = errors.New("lock is held")

// heldBy is errHeld with the number of the process that holds the lock.
type heldBy int

func (p heldBy) Error() string { return "lock is held by process " + strconv.Itoa(int(p)) }
func (p heldBy) Unwrap() error { return errHeld }

// takeLock locks the file for this process. The kernel's lock decides; the
// number inside is only there to be shown to a person.
func takeLock(name string) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		defer f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, heldBy(holder(f))
		}
		return nil, fmt.Errorf("lock %s: %w", name, err)
	}
	if err := writeHolder(f); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

func writeHolder(f *os.File) error {
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err := f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

// holder reads the process number in the lock file, 0 if there is none.
func holder(f *os.File) int {
	b := make([]byte, 20)
	n, _ := f.ReadAt(b, 0)
	pid, err := strconv.Atoi(strings.TrimSpace(string(b[:n])))
	if err != nil {
		return 0
	}
	return pid
}

func lockFault(path string, err error) error {
	if !errors.Is(err, errHeld) {
		return unwritable(path, err)
	}
	who := ""
	var pid heldBy
	if errors.As(err, &pid) && pid > 0 {
		who = fmt.Sprintf(" (process %d)", int(pid))
	}
	words := fmt.Sprintf("Another Leafturn%s is already using %s; end that one first, or give this one its own folder with --data.", who, path)
	return fault.New(ErrInUse.Code, words).Because(err)
}

func unwritable(path string, err error) error {
	words := fmt.Sprintf("Leafturn cannot write to its data folder %s (%s); choose another folder with --data, or make this one writable.", path, reason(err))
	return fault.New(ErrUnwritable.Code, words).Because(err)
}

// reason is the operating system's own word for what went wrong, without the
// path, which the sentence around it already names.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
