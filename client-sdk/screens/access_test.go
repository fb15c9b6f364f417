package screens_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens/h"
)

// What somebody needs who does not see the screen or does not touch it: one h1,
// no heading level left out, a name on everything that can be used, a label for
// every input, ids that are there once, and references that lead somewhere.
func TestScreensAreAccessible(t *testing.T) {
	for _, e := range examples(t0) {
		t.Run(e.name, func(t *testing.T) {
			root := parse(t, h.Render(e.node))
			ids, labels := collect(t, root)
			checkHeadings(t, root)
			root.walk(func(n *element) {
				checkName(t, n)
				checkInput(t, n, labels)
				checkReferences(t, n, ids)
			})
		})
	}
}

func collect(t *testing.T, root *element) (ids, labels map[string]bool) {
	ids, labels = map[string]bool{}, map[string]bool{}
	root.walk(func(n *element) {
		if id, has := n.attrs["id"]; has {
			require.NotEmpty(t, id)
			require.False(t, ids[id], "id %q is there twice", id)
			ids[id] = true
		}
		if n.name == "label" && n.words() != "" {
			labels[n.attrs["for"]] = true
		}
	})
	return ids, labels
}

func checkHeadings(t *testing.T, root *element) {
	last, ones := 0, 0
	root.walk(func(n *element) {
		if len(n.name) != 2 || n.name[0] != 'h' || n.name[1] < '1' || n.name[1] > '6' {
			return
		}
		level := int(n.name[1] - '0')
		require.NotEmpty(t, n.words(), "a heading has words")
		require.LessOrEqual(t, level, last+1, "no level is left out before %q", n.words())
		if last = level; level == 1 {
			ones++
			require.Equal(t, "title", n.attrs["id"], "the h1 takes the focus")
		}
	})
	require.Equal(t, 1, ones, "one h1")
}

func checkName(t *testing.T, n *element) {
	switch n.name {
	case "button", "a", "summary", "legend", "option":
		require.NotEmpty(t, n.words(), "%s %v has a name", n.name, n.attrs)
	case "img":
		require.Contains(t, n.attrs, "alt")
	}
	if n.name == "button" {
		require.Contains(t, []string{"button", "submit"}, n.attrs["type"])
	}
	if n.attrs["role"] == "img" || n.name == "progress" {
		require.NotEmpty(t, n.attrs["aria-label"]+n.attrs["aria-labelledby"], n.name)
	}
}

func checkInput(t *testing.T, n *element, labels map[string]bool) {
	if n.name != "input" && n.name != "select" && n.name != "textarea" || n.attrs["type"] == "hidden" {
		return
	}
	require.True(t, labels[n.attrs["id"]], "input %v has a label", n.attrs)
	require.NotEmpty(t, n.attrs["name"], "input %v has a name", n.attrs)
}

func checkReferences(t *testing.T, n *element, ids map[string]bool) {
	for _, a := range []string{"for", "aria-describedby", "aria-labelledby", "data-for", "data-preview"} {
		for _, id := range strings.Fields(n.attrs[a]) {
			require.True(t, ids[id], "%s=%q leads somewhere", a, id)
		}
	}
}
