package merge_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

var (
	plantName    = model.FieldKey{Field: model.PlantName}
	plantNote    = model.FieldKey{Field: model.PlantNote}
	plantRemoved = model.FieldKey{Field: model.PlantRemoved}
)

func TestConflictsAreListedByField(t *testing.T) {
	h := mergetest.Found(t, "conflicts")
	a, b, fern := h.Pens[0], h.Join(t, model.Helper), mergetest.Plant("fern")
	for _, key := range []model.FieldKey{plantNote, plantName} {
		a.Set(t, fern, key, model.Text("by a"))
		b.Set(t, fern, key, model.Text("by b"))
	}
	a.Set(t, fern, model.FieldKey{Field: model.PlantSpecies}, model.Text("nobody else said"))
	a.Seal(t)
	b.Seal(t)
	got := whole(t, h).Conflicts(fern)
	require.Len(t, got, 2)
	for i, key := range []model.FieldKey{plantName, plantNote} {
		require.Equal(t, key, got[i].Key)
		require.Len(t, got[i].Lost, 1)
		require.NotEqual(t, got[i].Now.Value, got[i].Lost[0].Value)
	}
}

// A value that lost and was chosen after all stays settled when the field changes
// again.
func TestAChosenValueDoesNotComeBackAsLost(t *testing.T) {
	h := mergetest.Found(t, "chosen")
	a, b, fern := h.Pens[0], h.Join(t, model.Helper), mergetest.Plant("fern")
	a.Set(t, fern, plantName, model.Text("by a"))
	b.Set(t, fern, plantName, model.Text("by b"))
	a.Seal(t)
	b.Seal(t)
	a.Take(t, h.Batches()...)
	lost := a.State.Lost(fern, plantName)
	require.Len(t, lost, 1)
	a.Set(t, fern, plantName, lost[0].Value)
	a.Set(t, fern, plantName, model.Text("another"))
	a.Seal(t)
	require.Empty(t, whole(t, h).Lost(fern, plantName))
}

func TestARemovalShowsWhatItHadNotSeen(t *testing.T) {
	begin := func(t *testing.T) (*mergetest.House, *mergetest.Pen, *mergetest.Pen) {
		h := mergetest.Found(t, "removal")
		a, b := h.Pens[0], h.Join(t, model.Helper)
		a.Set(t, mergetest.Plant("fern"), plantName, model.Text("fern"))
		a.Seal(t)
		b.Take(t, h.Batches()...)
		return h, a, b
	}
	fern := mergetest.Plant("fern")
	rename := func(t *testing.T, p *mergetest.Pen) { p.Set(t, fern, plantName, model.Text("fern by the door")) }
	remove := func(t *testing.T, p *mergetest.Pen) { p.Set(t, fern, plantRemoved, model.Bool(true)) }
	meet := func(t *testing.T, h *mergetest.House, pens ...*mergetest.Pen) {
		for _, p := range pens {
			p.Seal(t)
		}
		for _, p := range pens {
			p.Take(t, h.Batches()...)
		}
	}
	for name, first := range map[string]bool{"removed first": true, "changed first": false} {
		t.Run(name, func(t *testing.T) {
			h, a, b := begin(t)
			if first {
				remove(t, a)
				b.Wall += 1000
				rename(t, b)
			} else {
				rename(t, b)
				a.Wall += 1000
				remove(t, a)
			}
			meet(t, h, a, b)
			got := whole(t, h).Removals()
			require.Len(t, got, 1)
			require.Equal(t, fern, got[0].Record)
			require.Equal(t, a.Device(), got[0].By.By.Device)
			require.Equal(t, []merge.Edit{{Key: plantName, Write: whole(t, h).Current(fern, plantName)}}, got[0].Beside)

			b.Set(t, fern, plantRemoved, model.Bool(false))
			meet(t, h, b, a)
			s := whole(t, h)
			require.Empty(t, s.Removals(), "it was brought back")
			plant := s.Book().Plants[mergetest.ID[model.Plant]("fern")]
			require.False(t, plant.Removed)
			require.Equal(t, "fern by the door", plant.Name)

			remove(t, a)
			meet(t, h, a, b)
			require.Empty(t, whole(t, h).Removals(), "who removes it now has seen the name")
		})
	}
	t.Run("seen before", func(t *testing.T) {
		h, a, b := begin(t)
		rename(t, b)
		meet(t, h, b, a)
		remove(t, a)
		meet(t, h, a, b)
		require.Empty(t, whole(t, h).Removals())
	})
	t.Run("left removed", func(t *testing.T) {
		h, a, b := begin(t)
		remove(t, a)
		rename(t, b)
		meet(t, h, a, b)
		require.Len(t, whole(t, h).Removals(), 1)
		remove(t, b)
		meet(t, h, b, a)
		require.Empty(t, whole(t, h).Removals())
	})
	t.Run("changed by who removed it", func(t *testing.T) {
		h, a, b := begin(t)
		remove(t, a)
		rename(t, a)
		meet(t, h, a, b)
		require.Empty(t, whole(t, h).Removals())
	})
	t.Run("looked at by somebody who did not know", func(t *testing.T) {
		h, a, b := begin(t)
		look := func(p *mergetest.Pen) model.FactID {
			return p.Fact(t, &model.Inspection{Plant: mergetest.ID[model.Plant]("fern")})
		}
		look(b)
		a.Wall += 60_000
		remove(t, a)
		look(a)
		b.Wall += 120_000
		seen, mistaken := look(b), look(b)
		b.Fact(t, &model.Withdrawn{Fact: mistaken})
		b.Fact(t, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{mergetest.ID[model.Plant]("fern")}})
		meet(t, h, a, b)
		got := whole(t, h).Removals()
		require.Len(t, got, 1)
		require.Empty(t, got[0].Beside)
		require.Len(t, got[0].Since, 1, "not what came before the removal, nor who removed it, nor what was taken back, nor that it is gone")
		require.Equal(t, seen, got[0].Since[0].ID)
		remove(t, b)
		meet(t, h, b, a)
		require.Empty(t, whole(t, h).Removals(), "who removes it now has seen it")
	})
	t.Run("it comes before what the removal names", func(t *testing.T) {
		h, a, b := begin(t)
		rename(t, b)
		a.Wall += 60_000
		a.Set(t, fern, model.FieldKey{Field: model.PlantPlace}, model.IDValue(mergetest.ID[model.Place]("sill")))
		remove(t, a)
		meet(t, h, a, b)
		s := whole(t, h)
		require.Empty(t, s.Removals(), "the removal cannot say that it had not seen it")
		plant := s.Book().Plants[mergetest.ID[model.Plant]("fern")]
		require.True(t, plant.Removed)
		require.Equal(t, "fern by the door", plant.Name, "it is kept, and counts")
	})
	t.Run("a removal without right", func(t *testing.T) {
		h, a, b := begin(t)
		guest := h.Join(t, model.Guest)
		_, err := draftOf(t, guest).Write(guest.State.Stamp()+1, &oplog.Set{Record: fern, Fields: []oplog.Setting{{Key: plantRemoved, Value: model.Bool(true)}}})
		require.ErrorIs(t, err, oplog.ErrNotAllowed)
		rename(t, b)
		meet(t, h, a, b)
		require.Empty(t, whole(t, h).Removals())
	})
}

func draftOf(t *testing.T, p *mergetest.Pen) *merge.Draft {
	d, err := p.State.Draft(p.Device())
	require.NoError(t, err)
	return d
}
