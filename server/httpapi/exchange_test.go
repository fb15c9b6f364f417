package httpapi_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/auth"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

func TestFoundJoinAndExchange(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	i := a.Invite(t, 101, 15*time.Minute)
	require.Empty(t, r.sync(a))
	b := phonetest.Join(t, 2, r.clock.now, i)
	welcome := r.must(r.post(call{path: "/api/v1/join", body: r.encode(b.Introduction())}))
	require.Empty(t, welcome.Batches, "nothing of the household before the device has proven itself")
	require.Equal(t, r.clock.now().UnixMilli(), welcome.Now)
	for n := range byte(20) {
		a.Look(t, 1+n)
	}
	require.Empty(t, r.sync(a))
	require.Empty(t, r.sync(b))
	b.Look(t, 99)
	require.Empty(t, r.sync(b))
	require.Empty(t, r.sync(a))
	require.Equal(t, a.Digest(t), b.Digest(t))
	require.Equal(t, a.Digest(t), r.digest(a))
}

// refusal is how a request is refused.
type refusal struct {
	name   string
	call   call
	status int
	code   fault.Code
}

func (r *rig) refuses(t *testing.T, cases []refusal) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			before := r.stored()
			status, header, body := r.post(c.call)
			require.Equal(t, c.status, status, "%s", body)
			require.Equal(t, "application/json", header.Get("Content-Type"))
			var got struct {
				Code  fault.Code `json:"code"`
				Words string     `json:"words"`
			}
			require.NoError(t, json.Unmarshal(body, &got))
			require.Equal(t, c.code, got.Code)
			require.Regexp(t, `^[A-Z].{10,}\.$`, got.Words)
			require.Equal(t, before, r.stored(), "nothing is stored")
		})
	}
}

func TestRequestsThatAreRefused(t *testing.T) {
	r := newRig(t)
	a, other := r.founded(1), r.founded(2)
	token, path := r.token(a), exchangePath(a)
	look := r.encode(a.Message(a.Look(t, 1)))
	foreign := *a.Message()
	foreign.Household = other.Household()
	newer, err := cbor.Marshal(map[int]any{1: 2, 2: make([]byte, 16), 3: []any{}})
	require.NoError(t, err)
	stranger := r.tokenFrom(auth.New(newPhone(9).key, household.New(r.db, r.clock.now), r.clock.now), a)

	r.refuses(t, []refusal{
		{"no token", call{path: path, body: look}, 401, "token_missing"},
		{"a token of another server", call{path: path, token: stranger, body: look}, 401, "token_invalid"},
		{"a token of another household", call{path: path, token: r.token(other), body: look}, 404, "household_unknown"},
		{"a household that does not exist", call{path: "/api/v1/households/00000000-0000-8000-8000-000000000001/exchange", token: token, body: look}, 404, "household_unknown"},
		{"a message to another household", call{path: path, token: token, body: r.encode(&foreign)}, 403, "household_foreign"},
		{"another content type", call{path: path, token: token, typ: "application/json", body: look}, 415, "content_type_unsupported"},
		{"no content type", call{path: path, token: token, typ: ";", body: look}, 415, "content_type_unsupported"},
		{"a packed body", call{path: path, token: token, body: look, header: [2]string{"Content-Encoding", "gzip"}}, 415, "encoding_unsupported"},
		{"an empty body", call{path: path, token: token}, 400, "message_damaged"},
		{"half a message", call{path: path, token: token, body: look[:len(look)/2]}, 400, "message_damaged"},
		{"a newer message", call{path: path, token: token, body: newer}, 400, "message_version_unknown"},
		{"a body above the limit", call{path: path, token: token, body: make([]byte, 2<<20+1)}, 413, "body_too_large"},
		{"a message above the limit", call{path: path, token: token, body: make([]byte, wire.MaxMessageBytes+1)}, 413, "batch_too_big"},
	})
	r.gate.set(fault.New("storage_full", "The disk of this server is full."))
	r.refuses(t, []refusal{{"a full disk", call{path: path, token: token, body: look}, 507, "storage_full"}})
	r.gate.set(nil)
	r.clock.advance(auth.TokenLife)
	r.refuses(t, []refusal{{"an expired token", call{path: path, token: token, body: look}, 401, "token_expired"}})
	require.Empty(t, r.sync(a), "and the phone's entry still gets through")
	require.Equal(t, a.Digest(t), r.digest(a))
}

func TestFoundingsAndJoinsThatAreRefused(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	used, late := a.Invite(t, 101, time.Hour), a.Invite(t, 102, time.Minute)
	require.Empty(t, r.sync(a))
	unknown := a.Invite(t, 103, time.Hour) // the server does not hear of it
	r.must(r.post(call{path: "/api/v1/join", body: r.encode(phonetest.Join(t, 2, r.clock.now, used).Introduction())}))

	spent, _ := r.setup.Issue(time.Hour)
	short, _ := r.setup.Issue(time.Minute)
	good, _ := r.setup.Issue(time.Hour)
	r.must(r.post(call{path: "/api/v1/found", body: r.founding(spent, phonetest.Found(t, 3, r.clock.now).Introduction())}))
	r.clock.advance(2 * time.Minute)
	join := func(i phonetest.Invitation) call {
		return call{path: "/api/v1/join", body: r.encode(phonetest.Join(t, 4, r.clock.now, i).Introduction())}
	}
	found := func(token string, m *wire.Message) call {
		return call{path: "/api/v1/found", body: r.founding(token, m)}
	}
	forged := phonetest.Join(t, 5, r.clock.now, unknown)
	broken := phonetest.Found(t, 6, r.clock.now)
	damaged := altered(broken.Introduction().Batches[0], func(x *oplog.Batch) { x.Sig[5] ^= 1 })
	stamped := phonetest.Found(t, 8, func() time.Time { return epoch.AddDate(3, 0, 0) })

	r.refuses(t, []refusal{
		{"a used invitation", join(used), 410, "invitation_used"},
		{"an expired invitation", join(late), 410, "invitation_expired"},
		{"an unknown invitation", join(unknown), 403, "invitation_invalid"},
		{"an invitation to nowhere", join(phonetest.Invitation{Household: model.HouseholdID{1}, Key: used.Key, Op: used.Op}), 403, "invitation_invalid"},
		{"a founding sent to join", call{path: "/api/v1/join", body: r.encode(broken.Introduction())}, 400, "introduction_invalid"},
		{"a join without a body", call{path: "/api/v1/join"}, 400, "message_damaged"},
		{"a join as JSON", call{path: "/api/v1/join", typ: "application/json"}, 415, "content_type_unsupported"},
		{"an unknown set-up token", found("guess", broken.Introduction()), 403, "setup_token_unknown"},
		{"an expired set-up token", found(short, broken.Introduction()), 410, "setup_token_expired"},
		{"a used set-up token", found(spent, broken.Introduction()), 410, "setup_token_used"},
		{"a join sent to found", found(good, forged.Introduction()), 400, "introduction_invalid"},
		{"a founding with a broken signature", found(good, broken.Message(damaged)), 400, "signature_broken"},
		{"a founding from years ahead", found(good, stamped.Introduction()), 400, "clock_absurd"},
		{"a founding that is none", call{path: "/api/v1/found", body: []byte{0xff}}, 400, "message_damaged"},
	})
	r.must(r.post(found(good, broken.Introduction()))) // the refusals have not used the token up
}

// A batch that is refused is named in the answer with its code and words, and what
// came with it is taken in.
func TestBatchesThatAreRefused(t *testing.T) {
	unknownOp, err := cbor.Marshal([]any{23, 0, 0})
	require.NoError(t, err)
	cases := map[string]struct {
		code  fault.Code
		batch func(t *testing.T, a, b *phonetest.Phone) []*oplog.Batch
	}{
		"unknown op version": {"op_version_unknown", func(_ *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			return []*oplog.Batch{b.Raw(unknownOp)}
		}},
		"broken signature": {"signature_broken", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			return []*oplog.Batch{altered(b.Look(t, 1), func(x *oplog.Batch) { x.Sig[5] ^= 1 })}
		}},
		"changed operation": {"signature_broken", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			return []*oplog.Batch{altered(b.Write(t, noted(b, "spotted")), func(x *oplog.Batch) {
				x.Ops = bytes.Replace(x.Ops, []byte("spotted"), []byte("healthy"), 1)
			})}
		}},
		"gap": {"log_gap", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			b.Look(t, 1)
			return []*oplog.Batch{b.Look(t, 2)}
		}},
		"fork": {"log_forked", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			twin := b.Twin(t)
			return []*oplog.Batch{b.Look(t, 1), twin.Look(t, 2)}
		}},
		"stranger": {"device_unknown", func(t *testing.T, a, _ *phonetest.Phone) []*oplog.Batch {
			return []*oplog.Batch{altered(a.Look(t, 1), func(x *oplog.Batch) { x.Device = model.DeviceID{7} })}
		}},
		"more than the role allows": {"not_allowed", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			invite := &oplog.Invite{Key: newPhone(9).key.Public().(ed25519.PublicKey), Role: model.Keeper, Expires: 1 << 50}
			return []*oplog.Batch{b.Smuggle(t, invite)}
		}},
		"clock a year ahead": {"clock_absurd", func(t *testing.T, _, b *phonetest.Phone) []*oplog.Batch {
			b.Clock.Observe(hlc.Of(epoch.AddDate(2, 0, 0).UnixMilli(), 0))
			return []*oplog.Batch{b.Look(t, 1)}
		}},
	}
	for _, name := range slices.Sorted(maps.Keys(cases)) {
		t.Run(name, func(t *testing.T) {
			c := cases[name]
			r := newRig(t)
			a := r.founded(1)
			i := a.Invite(t, 101, time.Hour)
			require.Empty(t, r.sync(a))
			b := phonetest.Join(t, 2, r.clock.now, i)
			r.must(r.post(call{path: "/api/v1/join", body: r.encode(b.Introduction())}))
			require.Empty(t, r.sync(b))
			require.Empty(t, r.sync(a))

			bad := c.batch(t, a, b)
			fine := a.Look(t, 50)
			m := a.Message(append(bad, fine)...)
			if name == "stranger" { // a's own entry, which the case has used, comes first
				m = a.Message(append(a.Batches(t, a.Device()), bad...)...)
			}
			answer := r.must(r.post(call{path: exchangePath(a), token: r.token(a), body: r.encode(m)}))
			require.Len(t, answer.Refused, 1)
			got, refused := answer.Refused[0], bad[len(bad)-1]
			require.Equal(t, c.code, got.Code)
			require.Regexp(t, `^[A-Z].{10,}\.$`, got.Words)
			require.Equal(t, refused.Device, got.Device)
			require.Equal(t, refused.First, got.First)
			require.Equal(t, fine.Last(), answer.Have[a.Device()], "what came with it")
			if name != "fork" {
				require.Less(t, r.stored()[a.Household()][refused.Device].Seq, refused.First, "nothing of it is stored")
			}
		})
	}
}

// A batch in a form of the future cannot be read, but it is named.
func TestABatchThatCannotBeReadIsRefusedByName(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	look := a.Look(t, 1)
	future := bytes.Clone(look.Encode())
	future[1] = 9 // the version is the array's first element
	h := a.Household()
	body, err := cbor.Marshal(map[int]any{1: wire.Version, 2: h[:], 3: []any{}, 4: [][]byte{future, {1, 2, 3}}})
	require.NoError(t, err)
	answer := r.must(r.post(call{path: exchangePath(a), token: r.token(a), body: body}))
	require.Equal(t, []wire.Refused{
		{Device: a.Device(), First: look.First, Code: oplog.ErrVersion.Code, Words: oplog.ErrVersion.Words},
		{Code: oplog.ErrDamaged.Code, Words: oplog.ErrDamaged.Words},
	}, answer.Refused)
	require.Empty(t, r.sync(a))
	require.Equal(t, a.Digest(t), r.digest(a))
}

// altered is a batch that somebody has changed after it was signed.
func altered(b *oplog.Batch, change func(*oplog.Batch)) *oplog.Batch {
	x := &oplog.Batch{Device: b.Device, First: b.First, Count: b.Count, Prev: b.Prev, Ops: bytes.Clone(b.Ops), Sig: bytes.Clone(b.Sig)}
	change(x)
	return x
}

func noted(p *phonetest.Phone, note string) *model.Fact {
	f := phonetest.Look(p, 1)
	f.Body.(*model.Inspection).Note = note
	return f
}
