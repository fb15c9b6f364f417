package httpapi_test

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/phototest"
)

// sent is what the client in testdata/tus did in one way of sending.
type sent struct {
	Requests   []string
	Offset     int
	Error, URL string
}

// TestClientOfOthers sends files with a client of the protocol that we did not write.
// It proves that we speak what others speak; faults are TestTus' matter. It needs Node
// and what npm ci fetches in testdata/tus, and runs where LEAFTURN_NODE_TESTS is 1.
func TestClientOfOthers(t *testing.T) {
	if os.Getenv("LEAFTURN_NODE_TESTS") != "1" {
		t.Skip("tests with Node run where LEAFTURN_NODE_TESTS is 1")
	}
	const MiB = 1 << 20
	file := randomBytes(6 * MiB)
	r := newTusProtocolRig(t)
	r.most = 8 * MiB
	check := r.finish
	r.finish = func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, f io.ReaderAt, size int64) error {
		if err := check(ctx, hh, sum, f, size); err != nil { // compares every byte with the promise
			return err
		}
		return r.store.Put(ctx, hh, photo.Photo{Info: photo.Info{Sum: sum, Kept: photo.SumOf(nil)}})
	}
	r.start()
	name := filepath.Join(t.TempDir(), "leaf.jpg")
	require.NoError(t, os.WriteFile(name, file, 0o600))
	node := exec.CommandContext(t.Context(), "node", "client.mjs", "http://"+r.addr+tusBase, name)
	node.Dir, node.Stderr = "testdata/tus", os.Stderr
	out, err := node.Output()
	require.NoError(t, err)
	var ways map[string]sent
	require.NoError(t, json.Unmarshal(out, &ways))

	patches := func(before string, n int) []string {
		return append(strings.Fields(before), slices.Repeat([]string{"PATCH"}, n)...)
	}
	for way, want := range map[string]sent{
		"whole":   {Requests: patches("POST", 6), Offset: 6 * MiB},
		"again":   {Requests: []string{"POST", "PATCH", "HEAD"}}, // told where to go on, it sees that all is there
		"cut":     {Requests: patches("POST", 3), Offset: 3 * MiB},
		"resumed": {Requests: patches("HEAD", 4), Offset: 6*MiB + 1},
		"first":   {Requests: patches("POST", 6), Offset: 6*MiB + 1},
		"posted":  {Requests: patches("POST", 7), Offset: 6*MiB + 1},
		"given":   {Requests: append(patches("POST", 2), "DELETE"), Offset: 2 * MiB},
	} {
		got := ways[way]
		require.Empty(t, got.Error, way)
		require.Equal(t, want.Requests, got.Requests, way)
		require.Equal(t, want.Offset, got.Offset, way)
	}
	for _, c := range []struct {
		file []byte
		here bool
	}{{file, true}, {append(slices.Clone(file), 1), true}, {append(slices.Clone(file), 2), true},
		{append(slices.Clone(file), 3), true}, {append(slices.Clone(file), 4), false}} {
		there, err := r.store.Has(t.Context(), phototest.Household(1), photo.SumOf(c.file))
		require.NoError(t, err)
		require.Equal(t, c.here, there)
	}
	given := strings.TrimPrefix(ways["given"].URL, "http://"+r.addr)
	require.Equal(t, http.StatusNotFound, r.head(given).status)
}
