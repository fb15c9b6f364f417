// Package dirstore keeps photos as files in a folder.
//
// A photo with the sum abcdef… of household hh is up to four files in the folder
// hh/ab/cd:
//
//	abcdef….jpg        the kept bytes (or .png, .webp): an ordinary picture file
//	abcdef….320        SHA-256 of what follows (32 bytes), then a JPEG file
//	abcdef….1280       the same for the large copy
//	abcdef….info       one line of JSON, then the hex SHA-256 of that line
//
// Two more may come with time:
//
//	abcdef….jpg.damaged   the kept bytes of a photo that was set aside
//	abcdef….orphan        since when nothing refers to the photo; see Tidy
//
// The info is written last and removed first: a photo is there when its info is.
// Everything read is compared with its check sum before it is handed out. The
// folder tmp holds files being written; see package durable.
package dirstore

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"strings"
	"sync"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/durable"
	"leafturn/photo/exif"
)

// Store is a photo.Store in a folder.
type Store struct {
	tree durable.Tree

	mu    sync.Mutex                  // guards usage, and holds writers apart
	usage map[model.HouseholdID]int64 // bytes of kept files, counted on first use
}

var _ photo.Store = (*Store)(nil)

// Open opens the folder and makes it if need be. Only one process may use the
// folder at a time.
func Open(dir string) (*Store, error) {
	tree, err := durable.Open(dir)
	if err != nil {
		return nil, fmt.Errorf("open photo folder: %w", err)
	}
	return &Store{tree: tree, usage: map[model.HouseholdID]int64{}}, nil
}

// Close releases the folder. The store must not be used afterwards.
func (s *Store) Close() error { return s.tree.Close() }

// base is a photo's path without an extension. It is made from typed values only,
// so nothing a client sends takes part in a path.
func base(hh model.HouseholdID, sum photo.Sum) string {
	name := sum.String()
	return path.Join(hh.String(), name[:2], name[2:4], name)
}

func infoFile(hh model.HouseholdID, sum photo.Sum) string { return base(hh, sum) + ".info" }

func copyFile(hh model.HouseholdID, sum photo.Sum, size photo.Size) string {
	return base(hh, sum) + "." + strconv.Itoa(int(size))
}

func keptFile(hh model.HouseholdID, sum photo.Sum, t exif.Type) string {
	if t == exif.JPEG {
		return base(hh, sum) + ".jpg"
	}
	return base(hh, sum) + "." + string(t)
}

// Put implements photo.Store.
func (s *Store) Put(ctx context.Context, hh model.HouseholdID, p photo.Photo) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	used, err := s.used(hh)
	if err != nil {
		return err
	}
	before, err := s.bytesOf(hh, p.Info.Sum)
	if err != nil {
		return err
	}
	if err := s.tree.Write(keptFile(hh, p.Info.Sum, p.Info.Type), p.Kept); err != nil {
		return err
	}
	for size, jpeg := range p.Derivatives {
		if err := s.writeCopy(hh, p.Info.Sum, size, jpeg); err != nil {
			return err
		}
	}
	if err := s.tree.Remove(orphanFile(hh, p.Info.Sum)); err != nil { // its time begins anew
		return err
	}
	if err := s.tree.Write(infoFile(hh, p.Info.Sum), encodeInfo(p.Info)); err != nil {
		return err
	}
	s.usage[hh] = used - before + p.Info.Bytes
	return nil
}

func (s *Store) writeCopy(hh model.HouseholdID, sum photo.Sum, size photo.Size, jpeg []byte) error {
	check := sha256.Sum256(jpeg)
	return s.tree.Write(copyFile(hh, sum, size), check[:], jpeg)
}

// PutDerivative implements photo.Store.
func (s *Store) PutDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size, jpeg []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if there, err := s.exists(ctx, hh, sum); err != nil {
		return err
	} else if !there {
		return photo.ErrUnknown
	}
	return s.writeCopy(hh, sum, size, jpeg)
}

// Delete implements photo.Store.
func (s *Store) Delete(ctx context.Context, hh model.HouseholdID, sum photo.Sum) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	used, err := s.used(hh)
	if err != nil {
		return err
	}
	before, err := s.bytesOf(hh, sum)
	if err != nil {
		return err
	}
	if err := s.tree.Remove(infoFile(hh, sum)); err != nil {
		return err
	}
	s.usage[hh] = used - before
	return s.removeRest(hh, sum)
}

// removeRest removes all but the info. The type is not known once an info is
// gone or damaged, so all names are tried.
func (s *Store) removeRest(hh model.HouseholdID, sum photo.Sum) error {
	var all error
	for _, t := range []exif.Type{exif.JPEG, exif.PNG, exif.WebP} {
		all = errors.Join(all, s.tree.Remove(keptFile(hh, sum, t)), s.tree.Remove(keptFile(hh, sum, t)+damagedExt))
	}
	for _, size := range photo.Sizes {
		all = errors.Join(all, s.tree.Remove(copyFile(hh, sum, size)))
	}
	return errors.Join(all, s.tree.Remove(orphanFile(hh, sum)))
}

const damagedExt = ".damaged"

// SetAside implements photo.Store. A photo whose info is damaged is known to be
// damaged as it is.
func (s *Store) SetAside(ctx context.Context, hh model.HouseholdID, sum photo.Sum) error {
	s.mu.Lock() // so that no sound photo is put between the look and the move
	defer s.mu.Unlock()
	_, _, err := s.Read(ctx, hh, sum)
	if errors.Is(err, photo.ErrUnknown) {
		return nil
	}
	if !errors.Is(err, photo.ErrDamagedAtRest) {
		return err
	}
	info, err := s.Stat(ctx, hh, sum)
	if err != nil {
		return nil
	}
	name := keptFile(hh, sum, info.Type)
	if err := s.tree.Root.Rename(name, name+damagedExt); errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return fmt.Errorf("set photo aside: %w", err)
	}
	return s.tree.SyncAbove(name)
}

// Usage implements photo.Store.
func (s *Store) Usage(ctx context.Context, hh model.HouseholdID) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	return s.used(hh)
}

// used counts the household's bytes on first use and remembers them. The caller
// holds s.mu.
func (s *Store) used(hh model.HouseholdID) (int64, error) {
	if n, ok := s.usage[hh]; ok {
		return n, nil
	}
	var sum int64
	err := s.Each(context.Background(), hh, func(name photo.Sum) error {
		n, err := s.bytesOf(hh, name)
		sum += n
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("count photos of a household: %w", err)
	}
	s.usage[hh] = sum
	return sum, nil
}

// bytesOf is what a photo counts for, 0 when it is not there or damaged.
func (s *Store) bytesOf(hh model.HouseholdID, sum photo.Sum) (int64, error) {
	info, err := s.Stat(context.Background(), hh, sum)
	if errors.Is(err, photo.ErrUnknown) || errors.Is(err, photo.ErrDamagedAtRest) {
		return 0, nil
	}
	return info.Bytes, err
}

// Each implements photo.Store.
func (s *Store) Each(ctx context.Context, hh model.HouseholdID, fn func(photo.Sum) error) error {
	err := fs.WalkDir(s.tree.Root.FS(), hh.String(), func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		text, isInfo := strings.CutSuffix(path.Base(name), ".info")
		if d.IsDir() || !isInfo {
			return nil
		}
		sum, err := photo.ParseSum(text)
		if err != nil {
			return nil // somebody else's file
		}
		return fn(sum)
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
