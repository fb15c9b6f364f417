// Package hint is how the server tells a phone that there is something to fetch.
//
// A mark is a short name for what is known of a household: two replicas with the
// same logs have the same mark, and it tells a reader nothing else. A stream of
// hints is a body of type text/event-stream (HTML Standard, section 9.2): each event
// has a mark as its id and means "the server is here now"; a comment is a heartbeat.
// A phone that has the mark itself has nothing to fetch. Before the server ends a
// stream, it may say how long the phone should wait at most before it comes back. Hints are never about each
// single change: who reads slowly hears of the newest only.
package hint

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"time"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// ContentType is the media type of a stream.
const ContentType = "text/event-stream"

// LastID is the request header that says which mark the phone has.
const LastID = "Last-Event-ID"

// Mark names what is known of a household. The zero Mark is that of nobody.
type Mark string

// markBytes of a SHA-256 are enough to tell the states of one household apart.
const markBytes = 16

// Of is the mark of logs that go so far.
func Of(heads map[model.DeviceID]oplog.Head) Mark {
	sum := sha256.New()
	sum.Write([]byte("leafturn mark v1\n"))
	for _, d := range oplog.VectorOf(heads).Devices() {
		h := heads[d]
		if h.Seq == 0 {
			continue
		}
		sum.Write(d[:])
		sum.Write(binary.BigEndian.AppendUint64(nil, h.Seq))
		sum.Write(h.Hash[:])
	}
	return Mark(hex.EncodeToString(sum.Sum(nil)[:markBytes]))
}

// Event is the bytes of an event. The data repeats what every event means, because
// browsers' own readers pass over events without any.
func (m Mark) Event() []byte { return []byte("id: " + string(m) + "\ndata: changed\n\n") }

// Retry is the bytes that ask the phone to come back within a time, once the stream
// has ended.
func Retry(within time.Duration) []byte {
	return fmt.Appendf(nil, "retry: %d\n\n", within.Milliseconds())
}

// Heartbeat is the bytes of a heartbeat.
func Heartbeat() []byte { return []byte(":\n\n") }
