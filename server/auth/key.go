package auth

import (
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// LoadKey reads the server's signing key, and makes one if there is none yet. The
// file holds the 32 bytes of an Ed25519 seed and is for its owner's eyes only. A
// file of another length is refused rather than replaced: making a new key would
// hide that something damaged the folder.
func LoadKey(name string) (ed25519.PrivateKey, error) {
	seed, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return makeKey(name)
	}
	if err != nil {
		return nil, fmt.Errorf("read server key: %w", err)
	}
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("read server key: %s holds %d bytes instead of %d", name, len(seed), ed25519.SeedSize)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, fmt.Errorf("protect server key: %w", err)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

func makeKey(name string) (ed25519.PrivateKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	rand.Read(seed)
	if err := writeSynced(name, seed); err != nil {
		return nil, fmt.Errorf("make server key: %w", err)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// writeSynced writes a file that is there whole or not at all, also after a power
// cut.
func writeSynced(name string, b []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".key-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // fails once it is renamed
	_, err = f.Write(b)
	err = errors.Join(err, f.Sync(), f.Close())
	if err != nil {
		return err
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return err
	}
	dir, err := os.Open(filepath.Dir(name))
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
