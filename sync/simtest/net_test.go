package simtest_test

import (
	"context"
	"slices"
	"strings"

	"github.com/fxamacker/cbor/v2"

	"leafturn/client-sdk/replica"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// line is the way from a phone to a server, and all that can go wrong on it.
type line struct {
	p *phone
	s *server
}

// fate is what becomes of a request.
type fate int

const (
	arrives  fate = iota
	lost          // the server never sees it
	unheard       // the server does it, the answer is lost
	late          // it arrives some time after the phone has given up
	twice         // it arrives now, and once more later
	cutShort      // the answer is cut short
	altered       // whoever carries it changes a batch on the way there
	answered      // the same on the way back
	smuggled      // the server adds to its answer what must be refused
	fates
)

// fate draws what becomes of the next request: most arrive.
func (w *world) fate() fate {
	if w.fair || w.random.IntN(3) > 0 {
		return arrives
	}
	return fate(w.random.IntN(int(fates)))
}

func (l *line) Do(_ context.Context, r replica.Request) (*replica.Response, error) {
	w := l.p.w
	if !w.fair && w.now < l.p.cut[l.s] {
		return nil, replica.ErrOffline
	}
	if strings.HasSuffix(r.Path, "/exchange") {
		w.calls++
	}
	f := w.fate()
	switch f {
	case lost:
		return nil, replica.ErrOffline
	case late, twice:
		w.air = append(w.air, packet{l.s, r})
		if f == late {
			return nil, replica.ErrOffline
		}
	case altered:
		r.Body = w.alter(r.Body)
	}
	resp, err := l.s.answer(r)
	if err != nil {
		return nil, err
	}
	w.trace.Write(resp.Body)
	switch f {
	case unheard:
		return nil, replica.ErrOffline
	case cutShort:
		resp.Body = resp.Body[:len(resp.Body)/2]
	case answered:
		resp.Body = w.alter(resp.Body)
	case smuggled:
		resp.Body, err = w.addSmuggled(resp.Body)
	}
	return resp, err
}

// addSmuggled adds to a message, if it is one, a batch that somebody may not write.
func (w *world) addSmuggled(body []byte) ([]byte, error) {
	m, _, err := wire.Decode(body)
	if err != nil {
		return body, nil
	}
	b, words, err := w.smuggle(w.somePhone())
	if err != nil || b == nil {
		return body, err
	}
	w.say("  the server's answer brings %s", words)
	m.Batches = append(m.Batches, b)
	return m.Encode()
}

// alter changes one of the batches of a message, if it is one and has any.
func (w *world) alter(body []byte) []byte {
	m, _, err := wire.Decode(body)
	if err != nil || len(m.Batches) == 0 {
		return body
	}
	i := w.random.IntN(len(m.Batches))
	m.Batches[i] = w.forgery(m.Batches[i])
	out, err := m.Encode()
	if err != nil {
		return body
	}
	return out
}

// forgery changes a batch without the key that signed it.
func (w *world) forgery(b *oplog.Batch) *oplog.Batch {
	f := &oplog.Batch{Device: b.Device, First: b.First, Count: b.Count, Prev: b.Prev, Ops: slices.Clone(b.Ops), Sig: slices.Clone(b.Sig)}
	items := split(b.Ops)
	switch w.random.IntN(3) {
	case 0: // one bit
		f.Ops[w.random.IntN(len(f.Ops))] ^= 1 << w.random.IntN(8)
	case 1: // the last operation is torn off
		f.Ops, f.Count = slices.Concat(items[:len(items)-1]...), f.Count-1
	default: // the last operation is there twice
		f.Ops, f.Count = append(f.Ops, items[len(items)-1]...), f.Count+1
	}
	return f
}

// split cuts a CBOR sequence into its items, as far as it is one.
func split(seq []byte) (items [][]byte) {
	for len(seq) > 0 {
		var one cbor.RawMessage
		rest, err := cbor.UnmarshalFirst(seq, &one)
		if err != nil {
			break
		}
		items, seq = append(items, seq[:len(seq)-len(rest)]), rest
	}
	return items
}
