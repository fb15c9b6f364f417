package main

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

func files(figures, goals string) fstest.MapFS {
	return fstest.MapFS{
		"sync.txt":  {Data: []byte(figures)},
		"sync.md":   {Data: []byte("What they mean.\n")},
		"goals.tsv": {Data: []byte(goals)},
	}
}

func TestPageShowsFiguresBesideGoals(t *testing.T) {
	out, err := page(files("# today, here\nsync/wire 21.5 B\nsync/slow 90 ms\nsync/free 1 x\nsync/alike 0.9 lin\nsync/found 0.7 share\n",
		"# name\tmost\tothers\nsync/wire\t26\t56 (a peer)\nsync/slow\t60\t\nsync/alike\t≥0.8\t\nsync/found\t≥0.8\t\n"))
	require.NoError(t, err)
	require.Contains(t, string(out), "## sync\n\ntoday, here\n")
	require.Contains(t, string(out), "| wire | 21.5 | B | ≤ 26 | yes | 56 (a peer) |\n")
	require.Contains(t, string(out), "| slow | 90 | ms | ≤ 60 | no |  |\n")
	require.Contains(t, string(out), "| alike | 0.9 | lin | ≥ 0.8 | yes |  |\n")
	require.Contains(t, string(out), "| found | 0.7 | share | ≥ 0.8 | no |  |\n")
	require.Contains(t, string(out), "| free | 1 | x |  |  |  |\n")
	require.Contains(t, string(out), "What they mean.\n")
}

func TestPageRefusesWhatIsNoFigure(t *testing.T) {
	for name, f := range map[string]fstest.MapFS{
		"a line without a unit":    files("sync/wire 21.5\n", ""),
		"a value that is none":     files("sync/wire much B\n", "sync/wire\t26\t\n"),
		"a goal of two columns":    files("", "sync/wire\t26\n"),
		"a goal that is no number": files("", "sync/wire\tfew\t\n"),
		"a bound without a number": files("", "sync/wire\t≥\t\n"),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := page(f)
			require.Error(t, err)
		})
	}
}
