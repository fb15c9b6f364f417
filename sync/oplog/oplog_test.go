package oplog_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// pen writes one device's log in a test.
type pen struct {
	household model.HouseholdID
	key       ed25519.PrivateKey
	tail      *oplog.Tail
	sealed    oplog.Head
	open      [][]byte
	stamp     hlc.Stamp
}

func newPen(seed byte) *pen {
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
	public := key.Public().(ed25519.PublicKey)
	h := model.HouseholdIDOf(public, [16]byte{seed})
	tail := oplog.NewTail(h, model.DeviceIDOf(public))
	return &pen{household: h, key: key, tail: tail, sealed: tail.Head(), stamp: hlc.Of(1_790_000_000_000, 0)}
}

func (p *pen) public() ed25519.PublicKey { return p.key.Public().(ed25519.PublicKey) }

func (p *pen) write(t require.TestingT, body any) {
	p.stamp += 1 << 20
	ops, err := p.tail.Write(p.stamp, body)
	require.NoError(t, err)
	p.open = append(p.open, ops...)
}

func (p *pen) seal(t require.TestingT) *oplog.Batch {
	b, err := p.tail.Seal(p.key, p.sealed, p.open)
	require.NoError(t, err)
	p.sealed, p.open = p.tail.Head(), nil
	return b
}

func id[Of any](n byte) model.ID[Of] { return model.ID[Of](uuid.NewSHA1(uuid.NameSpaceOID, []byte{n})) }

func key(rule model.Rule, n byte, ordinal uint32) model.TaskKey {
	return model.TaskKey{Rule: rule, Subject: uuid.NewSHA1(uuid.NameSpaceURL, []byte{n}), Ordinal: ordinal}
}

// bodies is one operation of every kind.
func bodies(p *pen) map[string]any {
	fact := func(b model.Body) *model.Fact {
		return &model.Fact{At: 1_789_999_000_000, By: id[model.Member](1), Body: b}
	}
	plants := []model.PlantID{id[model.Plant](2), id[model.Plant](3)}
	return map[string]any{
		"found":   &oplog.Found{Key: p.public(), Nonce: [16]byte{9}},
		"invite":  &oplog.Invite{Key: p.public(), Role: model.Helper, Expires: 1_790_000_900_000, Member: id[model.Member](4)},
		"join":    &oplog.Join{Key: p.public(), Via: model.FactID{Device: id[model.Device](7), Seq: 12}, Proof: make([]byte, 64)},
		"succeed": &oplog.Succeed{Key: p.public(), Device: id[model.Device](7), After: 12, Proof: make([]byte, 64)},
		"appoint": &oplog.Appoint{Member: id[model.Member](4), Role: model.Guest, Seen: []model.FactID{{Device: id[model.Device](7), Seq: 12}}},
		"revoke":  &oplog.Revoke{Device: id[model.Device](7), Last: 12, Stay: []model.DeviceID{id[model.Device](8)}},
		"remove":  &oplog.Remove{Member: id[model.Member](4), Seen: []model.FactID{{Device: id[model.Device](7), Seq: 12}}},
		"set": &oplog.Set{Record: model.Ref{Kind: model.KindPlant, ID: uuid.UUID(plants[0])}, Fields: []oplog.Setting{
			{Key: model.FieldKey{Field: model.PlantName}, Value: model.Text("Fern by the door")},
			{Key: model.FieldKey{Field: model.PlantPlace}, Value: model.IDValue(id[model.Place](5)), Over: model.FactID{Device: p.tail.Device(), Seq: 3}},
			{Key: model.FieldKey{Field: model.PlantEdible}, Value: model.Bool(true)},
		}},
		"set of a set": &oplog.Set{Record: model.Ref{Kind: model.KindOutbreak, ID: uuid.NewSHA1(uuid.NameSpaceDNS, nil)}, Fields: []oplog.Setting{
			{Key: model.FieldKey{Field: model.OutbreakAffects, Sub: uuid.UUID(plants[1])}, Value: model.Bool(true)},
			{Key: model.FieldKey{Field: model.OutbreakPest}, Value: model.Int(model.PestThrips)},
		}},
		"inspection": fact(&model.Inspection{Plant: plants[0], Damage: 2, Note: "pale flecks", Photos: []model.PhotoSum{{1}, {2}},
			Findings: []model.Finding{{Part: model.Underside, Signs: model.SilveryPatches | model.BlackSpecks, Counts: model.Counts{0, 7, 0, 2}}},
			Round:    key(model.RuleRound, 1, 4), Completes: key(model.RuleCheck, 2, 1)}),
		"clean look":  fact(&model.Inspection{Plant: plants[1]}),
		"application": fact(&model.Application{Plants: plants, Product: id[model.Product](6), Outbreak: id[model.Outbreak](7), AmountMl: 900, Parts: []model.Part{model.Underside, model.Stem}, Completes: key(model.RuleSpray, 3, 2)}),
		"handling":    fact(&model.Handling{Kind: model.Isolated, Plants: plants, Note: "bathroom"}),
		"plan": fact(&model.PlanAccepted{Plan: id[model.PlanAccepted](8), Outbreak: id[model.Outbreak](7), Plants: plants,
			Isolate: true, Basis: model.CommonPractice, Steps: model.Rhythm(id[model.Product](6), 20800, 7, 4, 3)}),
		"course": fact(&model.PlanAccepted{Plan: id[model.PlanAccepted](8), Outbreak: id[model.Outbreak](7), Plants: plants,
			Basis: model.Computed, Aim: model.FewestSprays, Target: 950, Chance: 962, Seed: 1 << 63,
			Steps: []model.PlanStep{
				{Kind: model.StepSpray, Day: 20800, Product: id[model.Product](6), Why: []model.StepWhy{{Because: 1, Date: 20800}, {Because: 4, Date: 20790, Days: 6,
					Wanted: 6, Count: 1, Hours: 12, TenthsCelsius: -20, TenthsDegreeDays: 1105, TenthsLower: 79, Group: "un-B", Product: id[model.Product](9)}}},
				{Kind: model.StepLook, Day: 20803}}}),
		"card": fact(&model.CardReading{Place: id[model.Place](5), Colour: model.BlueCard, Pest: model.PestThrips, Count: 17, Counted: 15, Photo: model.PhotoSum{3},
			Replaced: true, Note: "by the window", Completes: key(model.RuleCardRead, 5, 2)}),
		"uncounted card": fact(&model.CardReading{Place: id[model.Place](5), Colour: model.YellowCard, Counted: -1}),
		"temperature":    fact(&model.Temperature{Place: id[model.Place](5), Coldest: -12, Warmest: 265}),
		"measurement": fact(&model.Measurement{Plant: plants[0], Photo: model.PhotoSum{1}, Method: 1, Damaged: 412, Uncertain: 90, Confidence: 80,
			Verdict: model.Outlined, Outline: []model.Point{{X: 0, Y: 0}, {X: 10000, Y: 20}, {X: 500, Y: 9999}}, Completes: key(model.RuleMeasure, 2, 1)}),
		"close look": fact(&model.Inspection{Plant: plants[1], Looked: model.PartsOf(model.Underside, model.LeafStalk), Absent: model.FineWebbing, Aid: model.PaperTap,
			Growing: true, Completes: key(model.RuleCheck, 2, 1)}),
		"claim":     fact(&model.TaskClaimed{Task: key(model.RuleSpray, 3, 2), Until: 1_790_010_000_000}),
		"put off":   fact(&model.TaskPutOff{Task: key(model.RuleRound, 1, 4), Until: 20801, Reason: model.TooHot}),
		"completed": fact(&model.TaskCompleted{Task: key(model.RuleRound, 1, 4)}),
		"settled":   fact(&model.Settled{Task: key(model.RuleSpray, 3, 2)}),
		"withdrawn": fact(&model.Withdrawn{Fact: model.FactID{Device: p.tail.Device(), Seq: 2}, Note: "wrong plant"}),
	}
}

func TestEveryKindReadsBackAsWritten(t *testing.T) {
	for name, body := range bodies(newPen(1)) {
		t.Run(name, func(t *testing.T) {
			p := newPen(1)
			reader := oplog.NewTail(p.household, p.tail.Device())
			p.write(t, body)
			p.write(t, body) // a second time, when every id is known
			b, err := oplog.DecodeBatch(p.seal(t).Encode())
			require.NoError(t, err)

			ops, next, err := reader.Read(p.public(), b)
			require.NoError(t, err)
			require.Equal(t, p.tail.Head(), next.Head())
			require.Equal(t, p.stamp, next.Stamp())
			last := ops[len(ops)-1]
			require.Equal(t, next.Head().Seq, last.ID.Seq)
			if want, ok := body.(*model.Fact); ok {
				full := *want
				full.ID, full.Stamp = last.ID, uint64(last.Stamp)
				body = &full
			}
			require.Equal(t, body, last.Body)
		})
	}
}

// The chain is SHA-256 over the hash before and the bytes of the operation; the
// test computes it again from the written rule.
func TestChainFollowsTheWrittenRule(t *testing.T) {
	p := newPen(2)
	device := p.tail.Device()
	want := sha256.Sum256(append(append([]byte("leafturn log v1\n"), p.household[:]...), device[:]...))
	require.Equal(t, want, p.tail.Head().Hash)
	p.write(t, bodies(p)["inspection"])
	for _, op := range p.open {
		want = sha256.Sum256(append(append([]byte{}, want[:]...), op...))
	}
	require.Equal(t, want, p.tail.Head().Hash)

	signed := append(append([]byte("leafturn batch v1\n"), p.household[:]...), device[:]...)
	signed = binary.BigEndian.AppendUint64(signed, p.tail.Head().Seq)
	signed = append(signed, want[:]...)
	require.True(t, ed25519.Verify(p.public(), signed, p.seal(t).Sig))
}

func TestBadBatchesAreRefused(t *testing.T) {
	write := func() (*pen, *oplog.Batch, *oplog.Batch) {
		p := newPen(3)
		p.write(t, bodies(p)["inspection"])
		first := p.seal(t)
		p.write(t, bodies(p)["handling"])
		return p, first, p.seal(t)
	}
	tests := map[string]struct {
		change func(p *pen, first, second *oplog.Batch) *oplog.Batch
		code   fault.Code
	}{
		"a changed byte": {func(_ *pen, first, _ *oplog.Batch) *oplog.Batch {
			first.Ops[len(first.Ops)-1] ^= 1
			return first
		}, "signature_broken"},
		"a changed signature": {func(_ *pen, first, _ *oplog.Batch) *oplog.Batch {
			first.Sig[5] ^= 1
			return first
		}, "signature_broken"},
		"another household": {func(p *pen, first, _ *oplog.Batch) *oplog.Batch {
			other := *p
			other.household = model.HouseholdID{1}
			other.tail = oplog.NewTail(other.household, p.tail.Device())
			other.sealed, other.open = other.tail.Head(), nil
			other.write(t, bodies(p)["inspection"])
			return other.seal(t)
		}, "log_forked"},
		"a gap": {func(_ *pen, _, second *oplog.Batch) *oplog.Batch { return second }, "log_gap"},
		"a trailing byte": {func(_ *pen, first, _ *oplog.Batch) *oplog.Batch {
			first.Ops = append(first.Ops, 0)
			return first
		}, "batch_damaged"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p, first, second := write()
			_, _, err := oplog.NewTail(p.household, p.tail.Device()).Read(p.public(), test.change(p, first, second))
			require.Equal(t, test.code, fault.CodeOf(err), "%v", err)
		})
	}
}

func TestTwoWritersWithOneKeyAreAFork(t *testing.T) {
	a, b := newPen(4), newPen(4)
	a.write(t, bodies(a)["inspection"])
	b.write(t, bodies(b)["handling"])
	one, other := a.seal(t), b.seal(t)
	_, tail, err := oplog.NewTail(a.household, a.tail.Device()).Read(a.public(), one)
	require.NoError(t, err)

	_, _, err = tail.Read(a.public(), other)
	require.Equal(t, fault.Code("log_forked"), fault.CodeOf(err), "same numbers, other content")

	b.write(t, bodies(b)["claim"])
	_, _, err = tail.Read(a.public(), b.seal(t))
	require.Equal(t, fault.Code("log_forked"), fault.CodeOf(err), "goes on from the other content")
}

func TestOverlapIsSkipped(t *testing.T) {
	p := newPen(5)
	p.write(t, bodies(p)["inspection"])
	first := p.seal(t)
	start := oplog.NewTail(p.household, p.tail.Device())
	_, known, err := start.Read(p.public(), first)
	require.NoError(t, err)

	// The same device seals everything again as one batch, as archives do.
	whole := newPen(5)
	whole.write(t, bodies(p)["inspection"])
	whole.write(t, bodies(p)["claim"])
	all := whole.seal(t)

	ops, next, err := known.Read(p.public(), all)
	require.NoError(t, err)
	require.Equal(t, whole.tail.Head(), next.Head())
	require.Equal(t, known.Head().Seq+uint64(len(ops)), next.Head().Seq)

	ops, again, err := next.Read(p.public(), all)
	require.NoError(t, err)
	require.Empty(t, ops)
	require.Equal(t, next.Head(), again.Head())

	at, err := all.HashAt(first.Last())
	require.NoError(t, err)
	require.Equal(t, known.Head().Hash, at)
}

func TestNewerVersionsAreNamedAsSuch(t *testing.T) {
	p := newPen(6)
	p.write(t, bodies(p)["claim"])
	data := p.seal(t).Encode()
	data[1] = 2 // the version is the first element
	_, err := oplog.DecodeBatch(data)
	require.Equal(t, fault.Code("op_version_unknown"), fault.CodeOf(err))

	b := newPen(6)
	b.write(t, bodies(b)["claim"])
	last := b.open[len(b.open)-1]
	last[1] = 21 // a kind nobody knows yet
	_, err = b.tail.Replay(last)
	require.Equal(t, fault.Code("op_version_unknown"), fault.CodeOf(err))
}

func TestSavedTailGoesOn(t *testing.T) {
	p := newPen(7)
	p.write(t, bodies(p)["application"])
	restored := oplog.RestoreTail(p.household, p.tail.Save())
	one, err := p.tail.Write(p.stamp+1, bodies(p)["application"])
	require.NoError(t, err)
	two, err := restored.Write(p.stamp+1, bodies(p)["application"])
	require.NoError(t, err)
	require.Equal(t, one, two)
	require.Len(t, one, 1, "known ids are not named again")
	require.Equal(t, p.tail.Head(), restored.Head())
}

// A log reads back in whatever batches it was cut into.
func TestAnyCutReadsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := newPen(8)
		reader := oplog.NewTail(p.household, p.tail.Device())
		all := bodies(p)
		names := rapid.SliceOfN(rapid.SampledFrom([]string{"set", "inspection", "clean look", "application", "plan", "claim", "withdrawn"}), 1, 30).Draw(t, "ops")
		for _, name := range names {
			p.write(t, all[name])
			if rapid.Bool().Draw(t, "cut") {
				b, err := oplog.DecodeBatch(p.seal(t).Encode())
				require.NoError(t, err)
				_, next, err := reader.Read(p.public(), b)
				require.NoError(t, err)
				reader = next
			}
		}
		if len(p.open) > 0 {
			_, next, err := reader.Read(p.public(), p.seal(t))
			require.NoError(t, err)
			reader = next
		}
		require.Equal(t, p.tail.Head(), reader.Head())
		require.Equal(t, p.tail.Save().IDs, reader.Save().IDs)
	})
}

// FuzzDecodeBatch feeds hostile bytes to the reader: no panic, and what decodes
// must encode and decode to the same batch.
func FuzzDecodeBatch(f *testing.F) {
	p := newPen(9)
	for _, body := range bodies(p) {
		p.write(f, body)
		f.Add(p.seal(f).Encode())
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := oplog.DecodeBatch(data)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		again, err := oplog.DecodeBatch(b.Encode())
		require.NoError(t, err)
		require.Equal(t, [2]uint64{b.First, b.Last()}, [2]uint64{again.First, again.Last()})
		require.Equal(t, b.Ops, again.Ops)
		_, _, _ = oplog.NewTail(p.household, b.Device).Read(p.public(), b)
	})
}

// FuzzReadOperation feeds hostile operation bytes to a tail.
func FuzzReadOperation(f *testing.F) {
	p := newPen(10)
	for _, body := range bodies(p) {
		p.write(f, body)
	}
	for _, op := range p.open {
		f.Add(op)
	}
	saved := p.tail.Save()
	f.Fuzz(func(t *testing.T, data []byte) {
		tail := oplog.RestoreTail(p.household, saved)
		op, err := tail.Replay(data)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		require.Equal(t, saved.Seq+1, op.ID.Seq)
		items, _ := sequence(t, data) // what is read is CBOR, whoever reads it
		require.Len(t, items, 1)
	})
}
