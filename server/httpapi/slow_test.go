package httpapi_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/server/httpapi"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// pipe is a connection to the server that holds nothing on its way: what the phone does
// not read, the server has not got rid of.
func (r *rig) pipe(over func(net.Conn) net.Conn) net.Conn {
	phone, server := net.Pipe()
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = r.app.Server().ServeConn(over(server)) // it fails when the phone hangs up
	}()
	r.t.Cleanup(func() {
		_ = phone.Close()
		<-ended
	})
	return phone
}

// large is an entry of some fifty kilobytes, which do not pack well.
func large(t *testing.T, p *phonetest.Phone) *oplog.Batch {
	random := rand.New(rand.NewPCG(1, 2))
	var day []any
	for range 64 {
		note := make([]byte, 1000)
		for i := range note {
			note[i] = byte(' ' + random.IntN(95))
		}
		f := phonetest.Look(p, 1)
		f.Body.(*model.Inspection).Note = string(note)
		day = append(day, f)
	}
	return p.Write(t, day...)
}

// wanting is a request by a phone that says it has only the beginning of its log.
func (r *rig) wanting(p *phonetest.Phone) call {
	m := p.Message()
	m.Have = oplog.Vector{p.Device(): 1}
	return call{path: exchangePath(p), token: r.token(p), body: r.encode(m)}
}

// begin sends a request over a pipe and reads the first byte of the answer.
func (r *rig) begin(c call) net.Conn {
	conn := r.pipe(func(c net.Conn) net.Conn { return c })
	_, err := fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Type: application/cbor\r\nAuthorization: Bearer %s\r\nContent-Length: %d\r\n\r\n%s",
		c.path, c.token, len(c.body), c.body)
	require.NoError(r.t, err)
	_, err = io.ReadFull(conn, make([]byte, len("H")))
	require.NoError(r.t, err)
	return conn
}

func (r *rig) busy(c call) {
	r.t.Helper()
	status, header, body := r.post(c)
	require.Equal(r.t, http.StatusServiceUnavailable, status, "%s", body)
	require.Equal(r.t, "5", header.Get("Retry-After"))
	require.Contains(r.t, string(body), `"busy"`)
}

// Phones that read their answers byte by byte hold no more memory than there is for that.
// When it is used up, who sends or wants much is told when to come again, and who writes
// an entry gets through, in the same household too.
func TestSlowReadersHoldBoundedMemory(t *testing.T) {
	r := newRig(t, func(c *httpapi.Config) { c.Memory = 90_000 })
	a, other := r.founded(1), r.founded(2)
	last := large(t, a).Last()
	require.Empty(t, r.sync(a))
	slow := []net.Conn{r.begin(r.wanting(a)), r.begin(r.wanting(a))}

	r.busy(r.wanting(a))
	much := r.encode(other.Message(large(t, other)))
	r.busy(call{path: exchangePath(other), token: r.token(other), body: much})
	a.Look(t, 1)
	require.Empty(t, r.sync(a), "meanwhile the household goes on")

	for _, conn := range slow {
		rest := io.MultiReader(strings.NewReader("H"), iotest.OneByteReader(conn))
		res, err := http.ReadResponse(bufio.NewReader(rest), nil)
		require.NoError(t, err)
		body, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		m, bad, err := wire.Decode(body)
		require.NoError(t, err)
		require.Empty(t, bad)
		require.Equal(t, last, m.Batches[len(m.Batches)-1].Last(), "the answer is whole")
	}
	for status := 0; status != http.StatusOK; { // until the server has noticed
		status, _, _ = r.post(r.wanting(a))
	}
	require.Empty(t, r.sync(other))
}

// A phone that hangs up before it has read its answer gives back what it held.
func TestWhoHangsUpHoldsNothing(t *testing.T) {
	r := newRig(t, func(c *httpapi.Config) { c.Memory = 60_000 })
	a := r.founded(1)
	large(t, a)
	require.Empty(t, r.sync(a))
	c := r.wanting(a)
	conn := r.begin(c)
	r.busy(c)
	require.NoError(t, conn.Close())
	for status := 0; status != http.StatusOK; {
		status, _, _ = r.post(c)
	}
}

// enduring is a connection on which a write waits for ever, unless it is told to end now.
type enduring struct{ net.Conn }

func (e enduring) SetDeadline(time.Time) error { return nil }

func (e enduring) SetWriteDeadline(at time.Time) error {
	if at.After(epoch) {
		return nil
	}
	return e.Conn.SetWriteDeadline(at)
}

// A stream that somebody does not read, and that can take in nothing more, holds up
// neither those who write nor those who listen nor the end of the server.
func TestAStuckStreamHoldsUpNobody(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	b := r.joinedBy(a, 2)
	stuck := r.pipe(func(c net.Conn) net.Conn { return enduring{c} })
	var request bytes.Buffer
	require.NoError(t, r.listenRequest(b, "").Write(&request))
	_, err := stuck.Write(request.Bytes())
	require.NoError(t, err)
	_, err = stuck.Read(make([]byte, 1))
	require.NoError(t, err)

	l := r.listen(b, "")
	require.Equal(t, event(a), l.block())
	for i := range byte(20) {
		a.Look(t, 1+i)
		require.Empty(t, r.sync(a))
		require.Equal(t, event(a), l.block())
	}
	require.NoError(t, r.events.Close())
}
