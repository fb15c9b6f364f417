package dirstore_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/phototest"
)

var home = phototest.Household(1)

func open(t *testing.T, dir string) *dirstore.Store {
	s, err := dirstore.Open(dir)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestStore(t *testing.T) {
	phototest.Run(t, func(t *testing.T) photo.Store { return open(t, t.TempDir()) })
}

func TestReopenKeepsAll(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	again := open(t, dir)
	b, info, err := again.Read(t.Context(), home, p.Info.Sum)
	require.NoError(t, err)
	require.Equal(t, p.Kept, b)
	require.Equal(t, p.Info, info)
	used, err := again.Usage(t.Context(), home)
	require.NoError(t, err)
	require.Equal(t, p.Info.Bytes, used)
}

func TestKeptFileIsAnOrdinaryPicture(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	require.NoError(t, open(t, dir).Put(t.Context(), home, p))
	sum := p.Info.Sum.String()
	b, err := os.ReadFile(filepath.Join(dir, home.String(), sum[:2], sum[2:4], sum+".jpg"))
	require.NoError(t, err)
	require.Equal(t, p.Kept, b)
}

// TestOneFlippedBit flips one bit in the file of each of fifty photos, at a random
// place. Scrubbing must name all fifty, and none may be read.
func TestOneFlippedBit(t *testing.T) {
	dir, r := t.TempDir(), rand.New(rand.NewPCG(50, 3))
	s := open(t, dir)
	var flipped, whole []photo.Sum
	for seed := range uint64(60) {
		p := phototest.Photo(seed)
		require.NoError(t, s.Put(t.Context(), home, p))
		if seed%6 == 0 {
			whole = append(whole, p.Info.Sum)
			continue
		}
		flipped = append(flipped, p.Info.Sum)
		ext := []string{".jpg", ".info"}[seed%2]
		flipBit(t, find(t, dir, p.Info.Sum.String()+ext), r)
	}
	damaged, read, err := photo.Scrub(t.Context(), s, home)
	require.NoError(t, err)
	require.Equal(t, 60, read)
	require.ElementsMatch(t, flipped, damaged)
	missing, err := photo.Missing(t.Context(), s, home, slices.Concat(flipped, whole))
	require.NoError(t, err)
	require.Equal(t, flipped, missing, "a phone learns what it has to send again")
	for _, sum := range flipped {
		_, _, err := s.Read(t.Context(), home, sum)
		require.ErrorIs(t, err, photo.ErrDamagedAtRest)
	}
	for _, sum := range whole {
		_, _, err := s.Read(t.Context(), home, sum)
		require.NoError(t, err)
	}
}

func TestPuttingAgainHeals(t *testing.T) {
	for _, ext := range []string{".jpg", ".info"} {
		t.Run(ext, func(t *testing.T) {
			dir, p := t.TempDir(), phototest.Photo(1)
			s := open(t, dir)
			require.NoError(t, s.Put(t.Context(), home, p))
			flipBit(t, find(t, dir, p.Info.Sum.String()+ext), rand.New(rand.NewPCG(1, 1)))
			require.NoError(t, s.Put(t.Context(), home, p))
			b, _, err := s.Read(t.Context(), home, p.Info.Sum)
			require.NoError(t, err)
			require.Equal(t, p.Kept, b)
		})
	}
}

func TestLostFileIsDamage(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	require.NoError(t, os.Remove(find(t, dir, p.Info.Sum.String()+".jpg")))
	_, _, err := s.Read(t.Context(), home, p.Info.Sum)
	require.ErrorIs(t, err, photo.ErrDamagedAtRest)
}

func TestDamagedCopyCountsAsMissing(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	name := find(t, dir, p.Info.Sum.String()+".320")
	flipBit(t, name, rand.New(rand.NewPCG(2, 2)))
	_, err := s.ReadDerivative(t.Context(), home, p.Info.Sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrNoDerivative)
	require.NoError(t, os.Truncate(name, 5))
	_, err = s.ReadDerivative(t.Context(), home, p.Info.Sum, photo.Small)
	require.ErrorIs(t, err, photo.ErrNoDerivative)
}

// TestSetAsideKeepsTheBytes: a person can still look at what is left of the picture.
func TestSetAsideKeepsTheBytes(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	name := find(t, dir, p.Info.Sum.String()+".jpg")
	flipBit(t, name, rand.New(rand.NewPCG(3, 3)))
	damaged, err := os.ReadFile(name)
	require.NoError(t, err)
	require.NoError(t, s.SetAside(t.Context(), home, p.Info.Sum))
	left, err := os.ReadFile(name + ".damaged")
	require.NoError(t, err)
	require.Equal(t, damaged, left)
	require.NoError(t, s.Delete(t.Context(), home, p.Info.Sum))
	require.NoFileExists(t, name+".damaged")
}

// TestInterruptedPut leaves what a kill before the info's rename leaves.
func TestInterruptedPut(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	require.NoError(t, os.Remove(find(t, dir, p.Info.Sum.String()+".info")))
	s = open(t, dir)
	_, _, err := s.Read(t.Context(), home, p.Info.Sum)
	require.ErrorIs(t, err, photo.ErrUnknown)
	used, err := s.Usage(t.Context(), home)
	require.NoError(t, err)
	require.Zero(t, used)
	require.NoError(t, s.Put(t.Context(), home, p))
	_, _, err = s.Read(t.Context(), home, p.Info.Sum)
	require.NoError(t, err)
}

func TestDeleteLeavesNoFile(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	require.NoError(t, s.Delete(t.Context(), home, p.Info.Sum))
	require.NoError(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		require.True(t, d.IsDir(), name)
		return nil
	}))
}

func TestNewerVersionIsNotDamage(t *testing.T) {
	dir, p := t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, s.Put(t.Context(), home, p))
	name := find(t, dir, p.Info.Sum.String()+".info")
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	line, _, _ := bytes.Cut(b, []byte("\n"))
	line = bytes.Replace(line, []byte(`"version":1`), []byte(`"version":2`), 1)
	require.NoError(t, os.WriteFile(name, fmt.Appendf(line, "\n%v\n", photo.SumOf(line)), 0o600))
	_, err = s.Stat(t.Context(), home, p.Info.Sum)
	require.ErrorContains(t, err, "version 2")
	require.NotErrorIs(t, err, photo.ErrDamagedAtRest)
}

// TestSymlinkedFolder: a folder that was replaced by a link leads nowhere.
func TestSymlinkedFolder(t *testing.T) {
	dir, outside, p := t.TempDir(), t.TempDir(), phototest.Photo(1)
	s := open(t, dir)
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, home.String())))
	require.Error(t, s.Put(t.Context(), home, p))
	left, err := os.ReadDir(outside)
	require.NoError(t, err)
	require.Empty(t, left)
}

// find gives the path of the one file of this name.
func find(t *testing.T, dir, name string) (found string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(p, name) {
			found = p
		}
		return err
	}))
	require.NotEmpty(t, found)
	return found
}

func flipBit(t *testing.T, name string, r *rand.Rand) {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	b[r.IntN(len(b))] ^= 1 << r.IntN(8)
	require.NoError(t, os.WriteFile(name, b, 0o600))
}
