package merge_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// The laws that these tests prove, for households of several devices that write,
// invite, join and meet in any order:
//
//  1. any order, repetition and interleaving of batches gives the same state;
//  2. folding bit by bit gives what folding at once gives;
//  3. a restored snapshot is the state, and snapshot + tail is the full fold;
//  4. the value of a register is its write with the greatest (stamp, device, number),
//     and what nobody saw and did not win is shown as lost.

// setters are settings that devices quarrel about.
var setters = []struct {
	kind   model.Kind
	field  model.Field
	values []model.Value
}{
	{model.KindPlant, model.PlantName, []model.Value{model.Text("fern"), model.Text("ivy"), model.Text("the big one")}},
	{model.KindPlant, model.PlantPlace, []model.Value{model.IDValue(mergetest.ID[model.Place]("sill")), model.IDValue(mergetest.ID[model.Place]("shelf"))}},
	{model.KindPlant, model.PlantRemoved, []model.Value{model.Bool(true), model.Bool(false)}},
	{model.KindPlace, model.PlaceRoundEvery, []model.Value{model.Int(7), model.Int(14)}},
	{model.KindProduct, model.ProductStockMilli, []model.Value{model.Int(500), model.Int(1), model.Int(250_000)}},
	{model.KindOutbreak, model.OutbreakAffects, []model.Value{model.Bool(true), model.Bool(false)}},
}

var subjects = []string{"one", "two", "three"}

// household draws a household with a history: devices join at any time, write, sign,
// and meet now and then.
func household(t *rapid.T) *mergetest.House { return history(t, 10) }

// quarrel draws a household whose keepers also change roles, revoke and remove each
// other, and whose phones are copied and write again what others have, all without
// having seen what others did.
func quarrel(t *rapid.T) *mergetest.House { return history(t, 15) }

func history(t *rapid.T, acts int) *mergetest.House {
	h := mergetest.Found(t, "laws")
	roles := []model.Role{model.Keeper, model.Helper}
	for range rapid.IntRange(4, 50).Draw(t, "steps") {
		p := rapid.SampledFrom(h.Pens).Draw(t, "pen")
		if p.State.Access(p.Device()) != nil {
			p.Seal(t)
			continue
		}
		switch rapid.IntRange(0, acts-1).Draw(t, "act") {
		case 10:
			p.Seal(t)
			if len(h.Pens) < 6 {
				h.Succeed(t, p, mergetest.KeyOf(fmt.Sprint("copy ", len(h.Pens))))
			}
		case 11, 12:
			dispute(t, p, rapid.SampledFrom(h.Pens).Draw(t, "whom"))
		case 13, 14:
			again(t, p, rapid.SampledFrom(h.Pens).Draw(t, "whose"))
		case 0:
			if len(h.Pens) < 4 && h.Pens[0].State.Role(h.Pens[0].Device()) == model.Keeper {
				q := h.Join(t, rapid.SampledFrom(roles).Draw(t, "role"))
				q.Wall += rapid.Int64Range(-172_800_000, 172_800_000).Draw(t, "skew")
			}
		case 1, 2:
			p.Seal(t)
		case 3, 4:
			p.Take(t, h.Batches()...)
		case 5, 6:
			fact(t, p)
		default:
			set(t, p)
		}
	}
	for _, p := range h.Pens {
		p.Seal(t)
	}
	return h
}

// dispute lets a pen change what another may do, if it may do so itself.
func dispute(t *rapid.T, p, other *mergetest.Pen) {
	head := p.State.Tail(other.Device()).Head().Seq
	seen := []model.FactID{{Device: other.Device(), Seq: rapid.Uint64Range(0, head).Draw(t, "seen")}}
	body := rapid.SampledFrom([]any{
		&oplog.Appoint{Member: other.Member(), Role: model.Keeper, Seen: seen},
		&oplog.Appoint{Member: other.Member(), Role: model.Helper, Seen: seen},
		&oplog.Revoke{Device: other.Device(), Last: seen[0].Seq, Stay: p.State.Successors(other.Device())},
		&oplog.Revoke{Device: other.Device(), Last: seen[0].Seq},
		&oplog.Remove{Member: other.Member(), Seen: seen},
	}).Draw(t, "dispute")
	d, err := p.State.Draft(p.Device())
	require.NoError(t, err)
	if _, err = d.Write(p.State.Stamp()+1<<20, body); err == nil {
		p.Write(t, body)
	}
}

// Keepers quarrel without having seen what others did: there is always one, and what
// counts is the same whatever arrives first.
func TestQuarrelsEndTheSameEverywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := quarrel(t)
		want := whole(t, h)
		keeper := false
		for _, d := range want.Devices() {
			keeper = keeper || want.Role(d) == model.Keeper
		}
		require.True(t, keeper)
		seed := rapid.Uint64().Draw(t, "order")
		got := merge.New(h.ID)
		order := shuffled(seed, h.Batches())
		got.Apply(order[:len(order)/2]...)
		got, err := merge.Restore(snapshot(t, got))
		require.NoError(t, err)
		deliver(t, got, seed, order)
		same(t, want, got)
		require.Equal(t, want.SetAside(), got.SetAside())
		for _, p := range h.Pens {
			p.Take(t, h.Batches()...)
			same(t, want, p.State)
		}
	})
}

func fact(t *rapid.T, p *mergetest.Pen) {
	plants := []model.PlantID{mergetest.ID[model.Plant](rapid.SampledFrom(subjects).Draw(t, "plant")), mergetest.ID[model.Plant]("two")}
	withdraw := model.FactID{Device: p.House.Pens[0].Device(), Seq: rapid.Uint64Range(1, 9).Draw(t, "withdraw")}
	p.Fact(t, mergetest.Facts(withdraw, plants...)[rapid.SampledFrom(mergetest.FactNames()).Draw(t, "fact")])
}

// again writes once more what another pen has.
func again(t *rapid.T, p, other *mergetest.Pen) {
	if facts := other.State.Book().Facts(); len(facts) > 0 {
		f := rapid.SampledFrom(facts).Draw(t, "again")
		p.Write(t, &model.Fact{At: f.At, By: f.By, Body: f.Body})
	}
}

func set(t *rapid.T, p *mergetest.Pen) {
	s := rapid.SampledFrom(setters).Draw(t, "field")
	subject := rapid.SampledFrom(subjects).Draw(t, "subject")
	key := model.FieldKey{Field: s.field}
	if s.kind == model.KindOutbreak {
		key.Sub = mergetest.ID[model.Plant](subject).UUID()
		subject = "thrips"
	}
	ref := model.Ref{Kind: s.kind, ID: uuid.NewSHA1(uuid.NameSpaceOID, []byte(subject))}
	p.Set(t, ref, key, rapid.SampledFrom(s.values).Draw(t, "value"))
}

// whole is the state that all batches make, taken in at once.
func whole(t require.TestingT, h *mergetest.House) *merge.State {
	s := merge.New(h.ID)
	require.Empty(t, s.Apply(h.Batches()...))
	return s
}

func snapshot(t require.TestingT, s *merge.State) []byte {
	data, err := s.Snapshot()
	require.NoError(t, err)
	return data
}

// same requires two states to be equal in everything that can be asked of them.
func same(t require.TestingT, want, got *merge.State) {
	a, err := want.Digest()
	require.NoError(t, err)
	b, err := got.Digest()
	require.NoError(t, err)
	require.Equal(t, a, b)
	require.Equal(t, snapshot(t, want), snapshot(t, got))
	require.Equal(t, want.Heads(), got.Heads())
	require.Equal(t, want.Devices(), got.Devices())
	x, y := want.Book(), got.Book()
	require.Equal(t, x.Household, y.Household)
	require.Equal(t, x.Members, y.Members)
	require.Equal(t, x.Devices, y.Devices)
	require.Equal(t, x.Places, y.Places)
	require.Equal(t, x.Plants, y.Plants)
	require.Equal(t, x.Products, y.Products)
	require.Equal(t, x.Outbreaks, y.Outbreaks)
	require.Equal(t, x.Len(), y.Len())
	if x.Len() > 0 { // else one may have made room and the other not
		require.Equal(t, x.Facts(), y.Facts())
	}
	for _, name := range subjects {
		id := mergetest.ID[model.Plant](name)
		require.Equal(t, x.PlantFacts(id), y.PlantFacts(id))
	}
	for _, f := range x.Facts() {
		require.Equal(t, x.Stands(f.ID), y.Stands(f.ID))
	}
}

// shuffled gives the batches with some repeated, in an order that the seed decides.
func shuffled(seed uint64, batches []*oplog.Batch) []*oplog.Batch {
	r := rand.New(rand.NewPCG(seed, 1))
	out := slices.Clone(batches)
	for range r.IntN(len(batches) + 1) {
		out = append(out, batches[r.IntN(len(batches))])
	}
	r.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// deliver hands over batches a few at a time and offers again later what could not
// be taken in yet, as transports do.
func deliver(t require.TestingT, s *merge.State, seed uint64, batches []*oplog.Batch) {
	r := rand.New(rand.NewPCG(seed, 2))
	for round := 0; len(batches) > 0; round++ {
		require.LessOrEqual(t, round, 100, "batches that can never be taken in")
		var later []*oplog.Batch
		for len(batches) > 0 {
			n := 1 + r.IntN(len(batches))
			for _, x := range s.Apply(batches[:n]...) {
				later = append(later, x.Batch)
			}
			batches = batches[n:]
		}
		batches = later
	}
}

func TestAnyOrderGivesTheSameState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := household(t)
		want := whole(t, h)
		for i := range 3 {
			seed := rapid.Uint64().Draw(t, fmt.Sprintf("order %d", i))
			got := merge.New(h.ID)
			deliver(t, got, seed, shuffled(seed, h.Batches()))
			same(t, want, got)
		}
	})
}

func TestDevicesThatMetAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := household(t)
		want := whole(t, h)
		for _, p := range h.Pens { // they wrote and read in their own order
			p.Take(t, h.Batches()...)
			same(t, want, p.State)
		}
	})
}

func TestSnapshotAndTailAreTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := household(t)
		want := whole(t, h)
		order := shuffled(rapid.Uint64().Draw(t, "order"), h.Batches())
		cut := rapid.IntRange(0, len(order)).Draw(t, "cut")

		part := merge.New(h.ID)
		part.Apply(order[:cut]...)
		restored, err := merge.Restore(snapshot(t, part))
		require.NoError(t, err)
		same(t, part, restored)

		deliver(t, restored, 1, order)
		same(t, want, restored)
	})
}

// written is a setting as the test reads it from the logs, without the fold.
type written struct {
	ref model.Ref
	key model.FieldKey
	w   merge.Write
}

// settings reads all settings of all logs.
func settings(t require.TestingT, h *mergetest.House) []written {
	var out []written
	for _, p := range h.Pens {
		tail := oplog.NewTail(h.ID, p.Device())
		for _, b := range p.Batches {
			ops, next, err := tail.Read(mergetest.Public(p.Key), b)
			require.NoError(t, err)
			tail = next
			for _, op := range ops {
				if s, ok := op.Body.(*oplog.Set); ok {
					for _, f := range s.Fields {
						out = append(out, written{s.Record, f.Key, merge.Write{By: op.ID, Stamp: op.Stamp, Value: f.Value, Over: f.Over}})
					}
				}
			}
		}
	}
	return out
}

func TestTheGreatestWriteWinsAndTheUnseenOnesAreShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := household(t)
		s := whole(t, h)
		all := settings(t, h)
		for _, one := range all {
			winner, seen := one.w, map[model.FactID]bool{}
			var rivals []merge.Write
			for _, other := range all {
				if other.ref != one.ref || other.key != one.key {
					continue
				}
				rivals = append(rivals, other.w)
				seen[other.w.Over] = true
				if later := other.w.Stamp > winner.Stamp || other.w.Stamp == winner.Stamp && other.w.By.Compare(winner.By) > 0; later {
					winner = other.w
				}
			}
			require.Equal(t, winner, s.Current(one.ref, one.key))
			var lost []merge.Write
			for _, w := range rivals {
				again := slices.ContainsFunc(rivals, func(o merge.Write) bool {
					return o.Value == w.Value && (o.Stamp > w.Stamp || o.Stamp == w.Stamp && o.By.Compare(w.By) > 0)
				})
				if !seen[w.By] && !again && w.Value != winner.Value {
					lost = append(lost, w)
				}
			}
			require.ElementsMatch(t, lost, s.Lost(one.ref, one.key))
		}
	})
}

// What is folded has to be able to tell states apart: one operation more is another
// digest.
func TestEveryOperationChangesTheDigest(t *testing.T) {
	h := mergetest.Found(t, "digest")
	p := h.Pens[0]
	last, err := p.State.Digest()
	require.NoError(t, err)
	for _, name := range mergetest.FactNames() {
		p.Fact(t, mergetest.Facts(model.FactID{Device: p.Device(), Seq: 1}, mergetest.ID[model.Plant]("one"))[name])
		next, err := p.State.Digest()
		require.NoError(t, err)
		require.NotEqual(t, last, next, name)
		last = next
	}
	p.Set(t, mergetest.Plant("one"), model.FieldKey{Field: model.PlantName}, model.Text("fern"))
	next, err := p.State.Digest()
	require.NoError(t, err)
	require.NotEqual(t, last, next)
}
