package replica_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// household is a household under stress: phones that write, are killed and sync
// over a bad line, and a server that is restored from old copies. promised is all
// that Do has said is safe.
type household struct {
	clock    *clock
	server   *fakeServer
	phones   []*phone
	promised map[model.FactID]string // the note or name that was written
}

func newHousehold(t *rapid.T) *household {
	c := newClock()
	h := &household{clock: c, server: newFakeServer(c.now), promised: map[model.FactID]string{}}
	h.phones = []*phone{founder(t, h.server, c)}
	h.join(t)
	return h
}

func (h *household) any(t *rapid.T) *phone {
	return rapid.SampledFrom(h.phones).Draw(t, "phone")
}

// join lets one more phone join on its own side. Its first sync announces it.
func (h *household) join(t *rapid.T) {
	if len(h.phones) == 3 {
		t.Skip("enough phones")
	}
	by := h.phones[0]
	by.line.fates = nil
	n := len(h.phones)
	h.phones = append(h.phones, invited(t, by, byte(10+n), fmt.Sprint("Member ", n)))
}

func (h *household) write(t *rapid.T) {
	p := h.any(t)
	var bodies []any
	var texts []string
	for range rapid.IntRange(1, 3).Draw(t, "operations") {
		text := fmt.Sprint("text ", len(h.promised)+len(texts))
		texts = append(texts, text)
		if rapid.Bool().Draw(t, "fact") {
			bodies = append(bodies, look(text))
		} else {
			bodies = append(bodies, named(text))
		}
	}
	ids, err := p.Do(ctx, bodies...)
	if p.Role() == 0 {
		require.ErrorIs(t, err, oplog.ErrStranger, "it has not seen its invitation yet")
		return
	}
	require.NoError(t, err)
	for i, id := range ids {
		require.NotContains(t, h.promised, id, "no id is given twice")
		h.promised[id] = texts[i]
	}
}

func (h *household) kill(t *rapid.T) {
	p := h.any(t)
	before := p.digest(t)
	p.reopen(t)
	require.Equal(t, before, p.digest(t))
}

var mayFail = []error{replica.ErrOffline, replica.ErrServer, errToken, oplog.ErrStranger, oplog.ErrInvitation}

// sync syncs over a bad line and, half the time, kills the phone afterwards.
func (h *household) sync(t *rapid.T) {
	p := h.any(t)
	p.line.fates = rapid.SliceOfN(rapid.SampledFrom([]fate{arrives, arrives, arrives, requestLost, answerLost, answerCut, signedOut, inTrouble}), 0, 8).Draw(t, "fates")
	err := p.Sync(ctx, p.server)
	p.line.fates = nil
	if err != nil && !oneOf(err, mayFail) {
		require.Equal(t, "message_damaged", string(p.Status().Trouble.Code), "%v", err)
	}
	require.Nil(t, p.Status().Blocked, "nobody writes as somebody else")
	if rapid.Bool().Draw(t, "killed") {
		p.reopen(t)
	}
}

func oneOf(err error, list []error) bool {
	for _, e := range list {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// restore takes the server back to an older time, but not to before its founding.
func (h *household) restore(t *rapid.T) {
	founder := h.phones[0].Device()
	h.server.forget(t, func(d model.DeviceID, n int) int {
		keep := rapid.IntRange(0, n).Draw(t, "batches kept")
		if d == founder {
			keep = max(keep, 1)
		}
		return keep
	})
}

// heal lets everybody sync over a good line until nobody has anything to say.
func (h *household) heal(t *rapid.T) {
	for range 3 {
		for _, p := range h.phones {
			p.line.fates = nil
			require.NoError(t, p.Sync(ctx, p.server))
		}
	}
	for _, p := range h.phones {
		require.Zero(t, p.Status().Unsent)
		require.Nil(t, p.Status().Blocked)
		require.NotZero(t, p.Role())
	}
}

// check proves that all know the same, that everything promised is there and nothing
// else was made up, and that phones opened anew know it as well.
func (h *household) check(t *rapid.T) {
	requireSame(t, h.server, h.phones...)
	require.Equal(t, h.promised, written(t, h.server))
	for _, p := range h.phones {
		p.reopen(t)
	}
	requireSame(t, h.server, h.phones...)
	h.checkName(t)
}

// written reads what the server's log says, without the fold that is under test.
func written(t tester, s *fakeServer) map[model.FactID]string {
	out := map[model.FactID]string{}
	for _, d := range s.household.Devices() {
		batches, err := s.household.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		key, _ := s.household.State.Key(d)
		tail := oplog.NewTail(s.household.Household(), d)
		for _, b := range batches {
			ops, next, err := tail.Read(key, b)
			require.NoError(t, err)
			tail = next
			for _, op := range ops {
				if text := textOf(op); text != "" {
					out[op.ID] = text
				}
			}
		}
	}
	return out
}

func textOf(op *oplog.Op) string {
	switch b := op.Body.(type) {
	case *model.Fact:
		if i, ok := b.Body.(*model.Inspection); ok {
			return i.Note
		}
	case *oplog.Set:
		if b.Record.Kind == model.KindPlant {
			return b.Fields[0].Value.Text
		}
	}
	return ""
}

// checkName: of the plant's names one stands, and those that nobody had seen and
// that did not win can be shown on every phone.
func (h *household) checkName(t *rapid.T) {
	ref, key := model.Ref{Kind: model.KindPlant, ID: fern.UUID()}, model.FieldKey{Field: model.PlantName}
	var first []merge.Write
	for i, p := range h.phones {
		lost := p.Lost(ref, key)
		for _, w := range lost {
			require.Equal(t, h.promised[w.By], w.Value.Text)
			require.NotEqual(t, nameOf(p), w.Value.Text)
		}
		if i == 0 {
			first = lost
		}
		require.Equal(t, first, lost)
		require.Equal(t, nameOf(h.phones[0]), nameOf(p))
	}
}

// TestNothingPromisedIsLost runs random households. It proves that, whatever is
// killed, lost or restored in between:
//
//  1. what Do has acknowledged is on the phone after it was killed;
//  2. after healing, the phones and the server have equal digests;
//  3. every acknowledged operation is in the server's log under the id that Do gave,
//     with the body that was written, and no other operation is;
//  4. of concurrent names one stands everywhere, and the others can be shown.
func TestNothingPromisedIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHousehold(t)
		t.Repeat(map[string]func(*rapid.T){
			"write":   h.write,
			"write 2": h.write, // twice as often
			"kill":    h.kill,
			"sync":    h.sync,
			"sync 2":  h.sync,
			"join":    h.join,
			"restore": h.restore,
		})
		h.heal(t)
		h.check(t)
	})
}
