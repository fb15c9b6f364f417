package merge_test

import (
	"crypto/ed25519"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// forge signs operations with a key as the next batch of that key's log, whatever
// the rules say: it is how a hostile phone writes.
func forge(t *testing.T, h model.HouseholdID, s *merge.State, key ed25519.PrivateKey, bodies ...any) *oplog.Batch {
	t.Helper()
	tail := s.Tail(model.DeviceIDOf(mergetest.Public(key))).Clone()
	if tail.Head().Seq == 0 {
		tail = oplog.NewTail(h, model.DeviceIDOf(mergetest.Public(key)))
	}
	start, stamp := tail.Head(), max(tail.Stamp(), s.Stamp(), hlc.Of(mergetest.Start, 0))
	var ops [][]byte
	for _, body := range bodies {
		stamp++
		op, err := tail.Write(stamp, body)
		require.NoError(t, err)
		ops = append(ops, op...)
	}
	b, err := tail.Seal(key, start, ops)
	require.NoError(t, err)
	return b
}

// refused requires a batch to be refused with a code, and to change nothing.
func refused(t *testing.T, s *merge.State, code fault.Code, batches ...*oplog.Batch) {
	t.Helper()
	before := snapshot(t, s)
	refusals := s.Apply(batches...)
	require.Len(t, refusals, 1)
	require.Equal(t, code, fault.CodeOf(refusals[0].Err), "%v", refusals[0].Err)
	require.Equal(t, before, snapshot(t, s), "a refused batch must change nothing")
}

func named(kind model.Kind, id [16]byte, f model.Field) *oplog.Set {
	return &oplog.Set{Record: model.Ref{Kind: kind, ID: id}, Fields: []oplog.Setting{mergetest.Setting(f, model.Text("new name"))}}
}

func TestRolesMay(t *testing.T) {
	const all, keepers, helpers = "keeper helper guest", "keeper", "keeper helper"
	h := mergetest.Found(t, "roles")
	pens := map[string]*mergetest.Pen{"keeper": h.Join(t, model.Keeper), "helper": h.Join(t, model.Helper), "guest": h.Join(t, model.Guest)}
	founder := h.Pens[0]
	type operation struct {
		body func(p *mergetest.Pen) any
		who  string
	}
	fixed := func(body any) func(*mergetest.Pen) any { return func(*mergetest.Pen) any { return body } }
	operations := map[string]operation{
		"invite":             {fixed(&oplog.Invite{Key: mergetest.Public(mergetest.KeyOf("i")), Role: model.Guest, Expires: mergetest.Start}), keepers},
		"name the household": {fixed(named(model.KindHousehold, h.ID.UUID(), model.HouseholdName)), keepers},
		"name oneself":       {func(p *mergetest.Pen) any { return named(model.KindMember, p.Member().UUID(), model.MemberName) }, all},
		"stay longer": {func(p *mergetest.Pen) any {
			return &oplog.Set{Record: model.Ref{Kind: model.KindMember, ID: p.Member().UUID()}, Fields: []oplog.Setting{
				mergetest.Setting(model.MemberName, model.Text("new name")), mergetest.Setting(model.MemberEnds, model.Int(model.Date(30_000)))}}
		}, helpers},
		"name another":     {fixed(named(model.KindMember, founder.Member().UUID(), model.MemberName)), keepers},
		"name own phone":   {func(p *mergetest.Pen) any { return named(model.KindDevice, p.Device().UUID(), model.DeviceName) }, all},
		"name other phone": {fixed(named(model.KindDevice, founder.Device().UUID(), model.DeviceName)), keepers},
		"name a place":     {fixed(named(model.KindPlace, [16]byte{1}, model.PlaceName)), helpers},
		"name a plant":     {fixed(named(model.KindPlant, [16]byte{1}, model.PlantName)), helpers},
		"name a product":   {fixed(named(model.KindProduct, [16]byte{1}, model.ProductName)), helpers},
		"note an outbreak": {fixed(named(model.KindOutbreak, [16]byte{1}, model.OutbreakNote)), helpers},
		"found again":      {func(p *mergetest.Pen) any { return &oplog.Found{Key: mergetest.Public(p.Key)} }, ""},
		"join again": {func(p *mergetest.Pen) any {
			return &oplog.Join{Key: mergetest.Public(p.Key), Via: model.FactID{Device: p.Device(), Seq: 1}, Proof: make([]byte, 64)}
		}, ""},
	}
	for name, body := range mergetest.Facts(model.FactID{Device: founder.Device(), Seq: 1}, mergetest.ID[model.Plant]("one")) {
		who := all
		if name == "plan" || name == "withdrawn" { // the withdrawn fact is the founder's
			who = helpers
		}
		operations["fact: "+name] = operation{func(p *mergetest.Pen) any { return &model.Fact{At: mergetest.Start, By: p.Member(), Body: body} }, who}
	}
	operations["withdraw one's own"] = operation{func(p *mergetest.Pen) any {
		return &model.Fact{At: mergetest.Start, By: p.Member(), Body: &model.Withdrawn{Fact: model.FactID{Device: p.Device(), Seq: 1}}}
	}, all}
	operations["look in another's name"] = operation{fixed(&model.Fact{At: mergetest.Start, By: founder.Member(), Body: &model.Inspection{Plant: mergetest.ID[model.Plant]("one")}}), helpers}
	for role, p := range pens {
		for name, o := range operations {
			t.Run(role+"/"+name, func(t *testing.T) {
				allowed := slices.Contains(strings.Fields(o.who), role)
				s, err := merge.Restore(snapshot(t, p.State))
				require.NoError(t, err)

				draft, err := s.Draft(p.Device())
				require.NoError(t, err)
				_, err = draft.Write(max(s.Stamp(), hlc.Of(mergetest.Start, 0))+1, o.body(p))
				b := forge(t, h.ID, s, p.Key, o.body(p))
				if allowed {
					require.NoError(t, err)
					require.Empty(t, s.Apply(b))
					return
				}
				require.Equal(t, fault.Code("not_allowed"), fault.CodeOf(err), "on the phone that writes")
				require.Empty(t, draft.Ops, "what was refused must not be kept")
				refused(t, s, "not_allowed", b)
			})
		}
	}
}

// An operation that is refused takes the operations of its batch with it, and those
// written after it in the log.
func TestOneForbiddenOperationRefusesItsBatch(t *testing.T) {
	h := mergetest.Found(t, "batch")
	guest := h.Join(t, model.Guest)
	s := whole(t, h)
	b := forge(t, h.ID, s, guest.Key, named(model.KindMember, guest.Member().UUID(), model.MemberName), named(model.KindPlant, [16]byte{1}, model.PlantName))
	refused(t, s, "not_allowed", b)
	require.Empty(t, s.Book().Plants)
}

func TestDraftGoesOnAfterARefusal(t *testing.T) {
	h := mergetest.Found(t, "draft")
	guest := h.Join(t, model.Guest)
	s := guest.State
	d, err := s.Draft(guest.Device())
	require.NoError(t, err)
	_, err = d.Write(s.Stamp()+1, named(model.KindPlant, [16]byte{1}, model.PlantName))
	require.ErrorIs(t, err, oplog.ErrNotAllowed)
	_, err = d.Write(s.Stamp()+2, &oplog.Set{Record: mergetest.Plant("x")})
	require.ErrorIs(t, err, model.ErrInvalid)
	id, err := d.Write(s.Stamp()+3, &model.Fact{At: 1, By: guest.Member(), Body: &model.Inspection{Plant: model.PlantID{1}}})
	require.NoError(t, err)
	s.Accept(d)
	f, ok := s.Book().Fact(id)
	require.True(t, ok)
	require.Equal(t, model.Instant(1), f.At)
}

func TestStrangersAreRefused(t *testing.T) {
	h := mergetest.Found(t, "strangers")
	founder := h.Pens[0]
	invitation := founder.Invite(t, model.Helper)
	other := mergetest.Found(t, "next door")
	s := whole(t, h)
	stranger := mergetest.KeyOf("stranger")
	join := func(key ed25519.PrivateKey, via model.FactID, proof []byte) *oplog.Join {
		return &oplog.Join{Key: mergetest.Public(key), Via: via, Proof: proof}
	}
	proof := func(via ed25519.PrivateKey, h model.HouseholdID, key ed25519.PrivateKey) []byte {
		return ed25519.Sign(via, oplog.JoinBytes(h, mergetest.Public(key)))
	}
	look := &model.Fact{At: 1, By: model.MemberID{1}, Body: &model.Inspection{Plant: model.PlantID{1}}}
	tests := map[string]struct {
		batch *oplog.Batch
		code  fault.Code
	}{
		"begins without saying who it is": {forge(t, h.ID, s, stranger, look), "device_unknown"},
		"joins by an invitation nobody wrote": {forge(t, h.ID, s, stranger,
			join(stranger, model.FactID{Device: founder.Device(), Seq: 1}, proof(stranger, h.ID, stranger))), "invitation_invalid"},
		"has no proof": {forge(t, h.ID, s, stranger, join(stranger, invitation.Op, make([]byte, 64))), "signature_broken"},
		"has the proof of another phone": {forge(t, h.ID, s, stranger,
			join(stranger, invitation.Op, proof(invitation.Key, h.ID, founder.Key))), "signature_broken"},
		"has the proof for another household": {forge(t, h.ID, s, stranger,
			join(stranger, invitation.Op, proof(invitation.Key, other.ID, stranger))), "signature_broken"},
		"proves it with another key": {forge(t, h.ID, s, stranger, join(stranger, invitation.Op, proof(stranger, h.ID, stranger))), "signature_broken"},
		"joins under another phone's key": {forge(t, h.ID, s, stranger,
			join(founder.Key, invitation.Op, proof(invitation.Key, h.ID, founder.Key))), "device_unknown"},
		"founds another household here": {forge(t, h.ID, s, stranger, &oplog.Found{Key: mergetest.Public(stranger)}), "household_foreign"},
		"founds with the founder's key": {forge(t, h.ID, s, stranger, &oplog.Found{Key: mergetest.Public(founder.Key)}), "device_unknown"},
		"comes from another household":  {other.Pens[0].Batches[0], "household_foreign"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) { refused(t, s, test.code, test.batch) })
	}

	t.Run("goes on without its beginning", func(t *testing.T) {
		joined := h.Join(t, model.Helper)
		joined.Fact(t, look.Body)
		refused(t, s, "device_unknown", joined.Seal(t))
	})
	t.Run("is signed by somebody else", func(t *testing.T) {
		b := forge(t, h.ID, s, founder.Key, look)
		b.Sig = ed25519.Sign(stranger, b.Prev[:])
		refused(t, s, "signature_broken", b)
	})
	t.Run("a second history", func(t *testing.T) {
		full := whole(t, h)
		empty := merge.New(h.ID)
		require.Empty(t, empty.Apply(founder.Batches[0]))
		fork := forge(t, h.ID, empty, founder.Key, look, look, look, look)
		refused(t, full, "log_forked", fork)
	})
}

// Removing a plant on one phone and changing it on another keeps the change.
func TestRemovingNeverLosesAnEdit(t *testing.T) {
	for _, removerFirst := range []bool{true, false} {
		h := mergetest.Found(t, "remove")
		a, b := h.Pens[0], h.Join(t, model.Helper)
		name, removed := model.FieldKey{Field: model.PlantName}, model.FieldKey{Field: model.PlantRemoved}
		a.Set(t, mergetest.Plant("fern"), name, model.Text("fern"))
		a.Seal(t)
		b.Take(t, h.Batches()...)
		remover, editor := a, b
		if !removerFirst {
			remover, editor = b, a
		}
		remover.Set(t, mergetest.Plant("fern"), removed, model.Bool(true))
		editor.Set(t, mergetest.Plant("fern"), name, model.Text("fern by the door"))
		a.Seal(t)
		b.Seal(t)
		plant := whole(t, h).Book().Plants[mergetest.ID[model.Plant]("fern")]
		require.True(t, plant.Removed)
		require.Equal(t, "fern by the door", plant.Name)
	}
}

func TestWhoHadSeenTheOtherWinsWhateverTheClocksSay(t *testing.T) {
	h := mergetest.Found(t, "clocks")
	fast, slow := h.Pens[0], h.Join(t, model.Helper)
	fast.Wall += 2 * 86_400_000
	ref, key := mergetest.Plant("fern"), model.FieldKey{Field: model.PlantName}
	fast.Set(t, ref, key, model.Text("by the fast phone"))
	fast.Seal(t)
	slow.Take(t, h.Batches()...)
	slow.Set(t, ref, key, model.Text("corrected by the slow phone"))
	slow.Seal(t)
	s := whole(t, h)
	require.Equal(t, "corrected by the slow phone", s.Book().Plants[mergetest.ID[model.Plant]("fern")].Name)
	require.Empty(t, s.Lost(ref, key), "what was seen and replaced is not lost")
}

func TestRefusedBatchesCanComeAgain(t *testing.T) {
	h := mergetest.Found(t, "again")
	p := h.Join(t, model.Helper)
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	p.Seal(t)
	s := merge.New(h.ID)
	refused(t, s, "device_unknown", p.Batches[1])
	refused(t, s, "invitation_invalid", p.Batches[0])
	require.Empty(t, s.Apply(h.Pens[0].Batches...))
	refused(t, s, "device_unknown", p.Batches[1])
	require.Empty(t, s.Apply(p.Batches...))
	same(t, whole(t, h), s)
}

func TestReplayTakesUpWhatWasNotSigned(t *testing.T) {
	h := mergetest.Found(t, "replay")
	p := h.Pens[0]
	before, err := merge.Restore(snapshot(t, p.State))
	require.NoError(t, err)
	d, err := p.State.Draft(p.Device())
	require.NoError(t, err)
	for _, body := range mergetest.Facts(model.FactID{Device: p.Device(), Seq: 1}, mergetest.ID[model.Plant]("one")) {
		_, err := d.Write(p.State.Stamp()+1<<20, &model.Fact{At: 1, By: p.Member(), Body: body})
		require.NoError(t, err)
	}
	p.State.Accept(d)
	for _, op := range d.Ops {
		require.NoError(t, before.Replay(p.Device(), op))
	}
	same(t, p.State, before)
	require.ErrorIs(t, before.Replay(model.DeviceID{1}, d.Ops[0]), oplog.ErrStranger)
}
