package mergetest

import (
	"flag"
	"os"
	"path/filepath"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew instead of comparing with them")

// Golden gives the bytes of a golden file of a format. With -update it writes them
// first: only for a format that was never released, or a new version beside the old.
func Golden(t TB, name string, now []byte) []byte {
	t.Helper()
	file := filepath.Join("..", "..", "testdata", "golden", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, now, 0o644))
	}
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	return data
}
