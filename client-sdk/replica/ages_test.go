package replica_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"strings"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// What a phone says when the other side is newer or older than it is. Whoever reads
// the words must be able to do what they ask for: a phone that is newer than its server
// cannot be helped by being updated.
const (
	updateThis   = "Update this one"
	updateServer = "The server runs an older Leafturn than this phone"
)

// tomorrow is a batch that a phone of a newer version wrote: an operation of a kind that
// is not known here, or a batch of a form that is not.
func tomorrow(t *testing.T, p *phone, newForm bool) []byte {
	t.Helper()
	id, err := p.vault.Identity(ctx)
	require.NoError(t, err)
	heads, err := p.vault.Heads(ctx)
	require.NoError(t, err)
	op, err := cbor.Marshal([]any{23, 0, 0, "a kind of tomorrow"})
	require.NoError(t, err)
	h, d, head := p.Household(), p.Device(), heads[p.Device()]
	last := sha256.Sum256(append(head.Hash[:], op...))
	text := append([]byte("leafturn batch v1\n"), h[:]...)
	text = append(text, d[:]...)
	text = binary.BigEndian.AppendUint64(text, head.Seq+1)
	text = append(text, last[:]...)
	b := &oplog.Batch{Device: d, First: head.Seq + 1, Count: 1, Prev: head.Hash, Ops: op, Sig: ed25519.Sign(ed25519.NewKeyFromSeed(id.Seed), text)}
	data := bytes.Clone(b.Encode())
	if newForm {
		data[1]++ // the version is the array's first element
	}
	return data
}

// answering lets the server's answers be changed on their way.
func answering(p *phone, change func(map[uint64]any)) *replica.Server {
	return p.Server(transport(func(r replica.Request) (*replica.Response, error) {
		resp, err := p.line.Do(ctx, r)
		if err != nil || !strings.HasSuffix(r.Path, "/exchange") {
			return resp, err
		}
		fields := map[uint64]any{}
		if err := cbor.Unmarshal(resp.Body, &fields); err != nil {
			return nil, err
		}
		change(fields)
		body, err := cbor.Marshal(fields)
		return &replica.Response{Status: 200, Body: body}, err
	}))
}

// handing gives a phone something of another one by its server, and says what the phone
// says of it.
func handing(t *testing.T, newForm bool) (*fault.Fault, error) {
	_, _, a, b := pair(t)
	b.do(t, look("sent before the update"))
	b.sync(t)
	data := tomorrow(t, b, newForm)
	a.do(t, look("goes on"))
	err := a.Sync(ctx, answering(a, func(m map[uint64]any) {
		all, _ := m[4].([]any)
		m[4] = append(all, data)
	}))
	require.NoError(t, err, "the rest is exchanged")
	require.Zero(t, a.Status().Unsent)
	require.Contains(t, notes(a), "sent before the update")
	require.Nil(t, a.Status().Blocked)
	unread := a.Status().Unread
	a.sync(t)
	require.Nil(t, a.Status().Unread, "there is nothing more of that")
	return unread, nil
}

func TestWordsBetweenVersions(t *testing.T) {
	for name, test := range map[string]struct {
		code  fault.Code
		words string
		say   func(t *testing.T) (*fault.Fault, error)
	}{
		"a newer server": {"message_version_unknown", updateThis, func(t *testing.T) (*fault.Fault, error) {
			_, _, a, _ := pair(t)
			err := a.Sync(ctx, answering(a, func(m map[uint64]any) { m[1] = 2 }))
			return a.Status().Trouble, err
		}},
		"an older server that cannot read the message": {"message_version_unknown", updateServer, func(t *testing.T) (*fault.Fault, error) {
			_, _, a, _ := pair(t)
			err := a.Sync(ctx, a.Server(transport(func(r replica.Request) (*replica.Response, error) {
				if strings.HasSuffix(r.Path, "/exchange") {
					return refusal(wire.ErrVersion), nil
				}
				return a.line.Do(ctx, r)
			})))
			return a.Status().Trouble, err
		}},
		"an older server that cannot read this phone's entries": {"op_version_unknown", updateServer, func(t *testing.T) (*fault.Fault, error) {
			_, _, a, _ := pair(t)
			a.do(t, look("newer"))
			d := a.Device()
			have := a.Vector()[d] - 1
			err := a.Sync(ctx, answering(a, func(m map[uint64]any) {
				m[3], m[9] = []any{[]any{d[:], have}}, nil
				m[5] = []any{[]any{d[:], have + 1, oplog.ErrVersion.Code, oplog.ErrVersion.Words}}
			}))
			require.NotZero(t, a.Status().Unsent)
			return a.Status().Blocked, err
		}},
		"entries of a newer kind": {"op_version_unknown", updateThis, func(t *testing.T) (*fault.Fault, error) { return handing(t, false) }},
		"entries of a newer form": {"op_version_unknown", updateThis, func(t *testing.T) (*fault.Fault, error) { return handing(t, true) }},
		"a newer hand-over file": {"message_version_unknown", "This file was written by a newer Leafturn. " + updateThis, func(t *testing.T) (*fault.Fault, error) {
			_, _, a, b := pair(t)
			var file bytes.Buffer
			require.NoError(t, a.HandOver(ctx, &file))
			newer := bytes.Replace(file.Bytes(), []byte("hand-over 1"), []byte("hand-over 2"), 1)
			_, err := b.TakeOver(ctx, bytes.NewReader(newer))
			f, ok := fault.From(err)
			require.True(t, ok)
			return f, nil
		}},
		"newer messages in a hand-over file": {"message_version_unknown", "This file was written by a newer Leafturn. " + updateThis, func(t *testing.T) (*fault.Fault, error) {
			_, _, a, b := pair(t)
			var file bytes.Buffer
			require.NoError(t, a.HandOver(ctx, &file))
			newer := file.Bytes()
			at := bytes.IndexByte(newer, '\n') + 1 + 4
			require.Equal(t, []byte{1, 1}, newer[at+1:at+3], "the version comes first")
			newer[at+2] = 2
			_, err := b.TakeOver(ctx, bytes.NewReader(newer))
			f, ok := fault.From(err)
			require.True(t, ok)
			return f, nil
		}},
		"a newer invitation": {"op_version_unknown", "This invitation was made by a newer Leafturn. " + updateThis, func(t *testing.T) (*fault.Fault, error) {
			_, err := replica.ParseInvitation("Ag")
			f, ok := fault.From(err)
			require.True(t, ok)
			return f, nil
		}},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := test.say(t)
			require.NotNil(t, f)
			require.Equal(t, test.code, f.Code)
			require.Contains(t, f.Words, test.words)
			if err != nil {
				require.Equal(t, test.code, fault.CodeOf(err))
			}
		})
	}
}

// A snapshot of another version is nobody's business: the log is folded again.
func TestASnapshotOfAnotherVersion(t *testing.T) {
	_, _, a, _ := pair(t)
	a.do(t, look("one"))
	a.sync(t)
	want := a.digest(t)
	require.NoError(t, a.vault.SaveSnapshot(ctx, underSum([]byte{0x85, 2})))
	a.reopen(t)
	require.Equal(t, want, a.digest(t))
}
