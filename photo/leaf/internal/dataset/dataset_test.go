package dataset_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/leaf/internal/dataset"
)

// The split may never move: what is held out today was held out when the rules
// were made.
func TestTheSplitStandsStill(t *testing.T) {
	for _, name := range []string{"1010.jpg", "583.jpg", "987.jpg", "image7.jpeg", "image23.jpeg"} {
		require.True(t, dataset.InFit(name), name)
	}
	for _, name := range []string{"1070.jpg", "94.jpg", "image11.jpeg", "image9.jpeg"} {
		require.False(t, dataset.InFit(name), name)
	}
}

// A picture that is in the set twice is in neither half: it was looked at under its other
// name while the rules were made.
func TestTwinIsInNeitherHalf(t *testing.T) {
	root := t.TempDir()
	images := filepath.Join(root, dataset.Soybean.Name, "images")
	require.NoError(t, os.MkdirAll(images, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(images, "image29.jpeg"), []byte("never opened"), 0o644))
	for _, fit := range []bool{true, false} {
		all, err := dataset.Load(root, dataset.Soybean, fit)
		require.NoError(t, err)
		require.Empty(t, all)
	}
}
