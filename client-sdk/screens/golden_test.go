package screens_test

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens/h"
)

var update = flag.Bool("update", false, "write the golden files afresh")

var svg = regexp.MustCompile(`(?s)<svg class="(\w+)".*?</svg>`)

var line = regexp.MustCompile(` d="[^"]*"`)

// golden is a screen with a line per element and without the lines of its
// drawings, so that a change is easy to read. Of charts the words, the places and
// the shapes stay; what their lines are is for tests of their own.
func golden(html string) string {
	html = line.ReplaceAllString(svg.ReplaceAllString(html, `<svg class="$1"/>`), ` d=""`)
	return strings.ReplaceAll(html, "><", ">\n<") + "\n"
}

func TestGolden(t *testing.T) {
	for _, e := range examples(t0) {
		t.Run(e.name, func(t *testing.T) {
			got := golden(h.Render(e.node))
			file := filepath.Join("testdata", "golden", e.name+".html")
			if *update {
				require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			require.Equal(t, string(want), got)
		})
	}
}

// No golden file outlives its screen.
func TestGoldenFilesAreUsed(t *testing.T) {
	used := map[string]bool{}
	for _, e := range examples(t0) {
		used[e.name+".html"] = true
	}
	files, err := os.ReadDir(filepath.Join("testdata", "golden"))
	require.NoError(t, err)
	for _, f := range files {
		require.True(t, used[f.Name()], f.Name())
	}
}
