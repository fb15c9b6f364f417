package dirstore

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"

	"leafturn/model"
	"leafturn/photo"
)

// version is the first thing in an info line. A reader refuses a newer one.
const version = 1

// record is what an info line holds.
type record struct {
	Version int `json:"version"`
	photo.Info
}

// encodeInfo writes the line and its check sum. Encoding numbers and texts cannot
// fail.
func encodeInfo(info photo.Info) []byte {
	line, err := json.Marshal(record{Version: version, Info: info})
	if err != nil {
		panic(fmt.Sprintf("encode photo info: %v", err))
	}
	check := sha256.Sum256(line)
	return fmt.Appendf(line, "\n%x\n", check)
}

// decodeInfo reads an info file and refuses everything encodeInfo did not write.
func decodeInfo(b []byte, sum photo.Sum) (photo.Info, error) {
	line, rest, _ := bytes.Cut(b, []byte("\n"))
	check := sha256.Sum256(line)
	if string(rest) != hex.EncodeToString(check[:])+"\n" {
		return photo.Info{}, photo.ErrDamagedAtRest.Because(errors.New("info: check sum differs"))
	}
	var r record
	if err := json.Unmarshal(line, &r); err != nil {
		return photo.Info{}, photo.ErrDamagedAtRest.Because(fmt.Errorf("info: %w", err))
	}
	if r.Version != version {
		return photo.Info{}, fmt.Errorf("photo %v was stored by version %d, this is %d", sum, r.Version, version)
	}
	if r.Sum != sum {
		return photo.Info{}, photo.ErrDamagedAtRest.Because(fmt.Errorf("info is about photo %v", r.Sum))
	}
	return r.Info, nil
}

// Stat implements photo.Store.
func (s *Store) Stat(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (photo.Info, error) {
	if err := ctx.Err(); err != nil {
		return photo.Info{}, err
	}
	b, err := s.tree.Root.ReadFile(infoFile(hh, sum))
	if errors.Is(err, fs.ErrNotExist) {
		return photo.Info{}, photo.ErrUnknown
	}
	if err != nil {
		return photo.Info{}, fmt.Errorf("read photo info: %w", err)
	}
	return decodeInfo(b, sum)
}

// exists reports whether the photo is there, damaged or not.
func (s *Store) exists(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (bool, error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	_, err := s.tree.Root.Stat(infoFile(hh, sum))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

// Has implements photo.Store. It notices a damaged info, and a file that was set
// aside, lost or cut short.
func (s *Store) Has(ctx context.Context, hh model.HouseholdID, sum photo.Sum) (bool, error) {
	info, err := s.Stat(ctx, hh, sum)
	if errors.Is(err, photo.ErrUnknown) || errors.Is(err, photo.ErrDamagedAtRest) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	kept, err := s.tree.Root.Stat(keptFile(hh, sum, info.Type))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("look for photo: %w", err)
	}
	return kept.Size() == info.Bytes, nil
}

// Read implements photo.Store.
func (s *Store) Read(ctx context.Context, hh model.HouseholdID, sum photo.Sum) ([]byte, photo.Info, error) {
	info, err := s.Stat(ctx, hh, sum)
	if err != nil {
		return nil, photo.Info{}, err
	}
	b, err := s.tree.Root.ReadFile(keptFile(hh, sum, info.Type))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, photo.Info{}, s.lost(ctx, hh, sum)
	}
	if err != nil {
		return nil, photo.Info{}, fmt.Errorf("read photo: %w", err)
	}
	if got := photo.SumOf(b); got != info.Kept {
		return nil, photo.Info{}, photo.ErrDamagedAtRest.Because(fmt.Errorf("photo %v: the file has sum %v", sum, got))
	}
	return b, info, nil
}

// lost tells a photo whose file is gone from one that was deleted between two
// looks: the latter's info is gone as well.
func (s *Store) lost(ctx context.Context, hh model.HouseholdID, sum photo.Sum) error {
	if there, err := s.exists(ctx, hh, sum); err != nil {
		return err
	} else if !there {
		return photo.ErrUnknown
	}
	return photo.ErrDamagedAtRest.Because(fmt.Errorf("photo %v: the file is gone", sum))
}

// ReadDerivative implements photo.Store.
func (s *Store) ReadDerivative(ctx context.Context, hh model.HouseholdID, sum photo.Sum, size photo.Size) ([]byte, error) {
	if there, err := s.exists(ctx, hh, sum); err != nil {
		return nil, err
	} else if !there {
		return nil, photo.ErrUnknown
	}
	b, err := s.tree.Root.ReadFile(copyFile(hh, sum, size))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, photo.ErrNoDerivative
	}
	if err != nil {
		return nil, fmt.Errorf("read copy of photo: %w", err)
	}
	if len(b) < sha256.Size || sha256.Sum256(b[sha256.Size:]) != [sha256.Size]byte(b) {
		return nil, photo.ErrNoDerivative.Because(fmt.Errorf("copy %d of photo %v is damaged", size, sum))
	}
	return b[sha256.Size:], nil
}
