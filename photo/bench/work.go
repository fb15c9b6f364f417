package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/exif"
)

// workOn does one piece of a server's work and leaves the results in a folder.
func workOn(work, name, dir string) error {
	switch work {
	case "draw":
		return draw(name)
	case "compare":
		return compare(name, dir)
	}
	file, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	switch work {
	case "receive":
		return receive(file, dir)
	case "strip":
		return strip(file, dir)
	}
	return fmt.Errorf("there is no work %q", work)
}

// receive takes a photo in as the server does: bytes compared with their sum, stripped,
// decoded, copied, stored.
func receive(file []byte, dir string) error {
	_, err := photo.Receive(context.Background(), shelf{dir: dir}, model.HouseholdID{}, photo.SumOf(file),
		bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
	return err
}

// strip is what is left of that when no copy is made.
func strip(file []byte, dir string) error {
	photo.SumOf(file)
	s, err := exif.Strip(file)
	if err != nil {
		return err
	}
	photo.SumOf(s.Kept)
	return os.WriteFile(filepath.Join(dir, "kept.jpg"), s.Kept, 0o600)
}

// shelf writes a photo into a folder and does nothing else: what a store costs is
// measured elsewhere.
type shelf struct {
	photo.Store
	dir string
}

func (s shelf) Usage(context.Context, model.HouseholdID) (int64, error) { return 0, nil }

func (s shelf) Put(_ context.Context, _ model.HouseholdID, p photo.Photo) error {
	if err := os.WriteFile(filepath.Join(s.dir, "kept.jpg"), p.Kept, 0o600); err != nil {
		return err
	}
	for size, b := range p.Derivatives {
		if err := os.WriteFile(filepath.Join(s.dir, fmt.Sprintf("%d.jpg", size)), b, 0o600); err != nil {
			return err
		}
	}
	return nil
}
