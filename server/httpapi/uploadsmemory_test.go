package httpapi_test

import (
	"crypto/sha256"
	"errors"
	"io"
	"net/http"
	"net/http/httputil"
	"runtime"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo"
)

// tusMemory counts what the process allocates, which is more than it ever holds: a
// piece of 100 MiB is written as it comes, and bodies that are too long are refused
// without taking them in.
func tusMemory(t *testing.T) {
	const large = 100 << 20
	for name, c := range map[string]struct {
		promised, sent int64
		chunked        bool
		status         int
	}{
		"one piece of 100 MiB":    {large, large, false, http.StatusNoContent},
		"the same in chunks":      {large, large, true, http.StatusNoContent},
		"longer than promised":    {1000, large, false, http.StatusRequestEntityTooLarge},
		"endless, 1 kB promised":  {1000, large, true, http.StatusRequestEntityTooLarge},
		"endless, 99 MiB promise": {large - 1<<20, 2 * large, true, http.StatusRequestEntityTooLarge},
	} {
		t.Run(name, func(t *testing.T) {
			r := newTusProtocolRig(t)
			r.most = large
			r.start()
			status, allocated := r.floodUpload(c.promised, c.sent, c.chunked)
			require.Equal(t, c.status, status)
			require.Less(t, allocated, uint64(20<<20))
		})
	}
}

// BenchmarkLargePiece tells what one piece of 100 MiB costs.
func BenchmarkLargePiece(b *testing.B) {
	const large = 100 << 20
	r := newTusProtocolRig(b)
	r.most = large
	r.start()
	b.SetBytes(large)
	var most uint64
	for b.Loop() {
		status, allocated := r.floodUpload(large, large, false)
		require.Equal(b, http.StatusNoContent, status)
		most = max(most, allocated)
	}
	b.ReportMetric(float64(most)/1e6, "MB-allocated")
}

// floodUpload begins an upload of so many zeros and sends as many as it is told, in one
// piece. It gives the answer's status and how many bytes were allocated meanwhile.
func (r *tusRig) floodUpload(promised, sent int64, chunked bool) (status int, allocated uint64) {
	r.t.Helper()
	sum := sha256.New()
	_, err := io.CopyN(sum, zeros{}, promised)
	require.NoError(r.t, err)
	got := r.send("POST", tusBase, headers{"Upload-Length", strconv.FormatInt(promised, 10),
		"Upload-Metadata", metadataOf(photo.Sum(sum.Sum(nil)))}, nil)
	require.Equal(r.t, http.StatusCreated, got.status)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	got, err = r.flood(got.header.Get("Location"), sent, chunked)
	require.NoError(r.t, err)
	runtime.ReadMemStats(&after)
	return got.status, after.TotalAlloc - before.TotalAlloc
}

// zeros is an endless file.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// flood sends so many zeros in one piece, until the server has had enough, and gives
// its answer.
func (r *tusRig) flood(path string, size int64, chunked bool) (reply, error) {
	conn := r.dial()
	start, body := head("PATCH", path, pieceHeaders(0), int(size)), io.Writer(conn)
	if chunked {
		start = head("PATCH", path, pieceHeaders(0, "Transfer-Encoding", "chunked"), -1)
		body = httputil.NewChunkedWriter(conn)
	}
	if _, err := io.WriteString(conn, start); err != nil {
		return reply{}, err
	}
	_, err := io.CopyN(body, zeros{}, size)
	if chunked && err == nil {
		_, err = io.WriteString(conn, "0\r\n\r\n")
	}
	got, readErr := readReply(conn, "PATCH")
	if readErr != nil {
		return reply{}, errors.Join(err, readErr)
	}
	return got, nil
}
