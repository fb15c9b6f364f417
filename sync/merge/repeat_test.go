package merge_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
)

// writeAgain writes what another pen wrote, as its own.
func writeAgain(t *testing.T, p, of *mergetest.Pen, id model.FactID) model.FactID {
	t.Helper()
	f, ok := of.State.Book().Fact(id)
	require.True(t, ok)
	id = p.Write(t, &model.Fact{At: f.At, By: f.By, Body: f.Body})
	p.Seal(t)
	return id
}

// notes is how many inspections count.
func notes(s *merge.State) (n int) {
	for _, f := range s.Book().Facts() {
		if _, ok := f.Body.(*model.Inspection); ok {
			n++
		}
	}
	return n
}

// Three copies of a phone write again what all of them held, at the same moment, and a
// keeper who had it from a file does so too. It counts once, whatever arrives first.
func TestWhatIsWrittenAgainCountsOnce(t *testing.T) {
	h := mergetest.Found(t, "again")
	old := h.Join(t, model.Helper)
	lost := look(t, old)
	old.Batches = old.Batches[:len(old.Batches)-1] // nobody has it
	var ids []model.FactID
	for _, name := range []string{"one", "two", "three"} {
		copied := h.Succeed(t, old, mergetest.KeyOf(name))
		ids = append(ids, writeAgain(t, copied, old, lost))
	}
	ids = append(ids, writeAgain(t, h.Pens[0], old, lost))
	s := everyOrder(t, h)
	require.Equal(t, 1, notes(s))
	require.Empty(t, s.SetAside(), "nothing is there for a keeper to write again")
	first, ok := s.Book().Fact(ids[0])
	require.True(t, ok)
	for _, id := range ids[1:] {
		f, ok := s.Book().Fact(id)
		require.True(t, ok)
		require.Equal(t, first.ID, f.ID, "whoever names the one means the other")
	}
}

// Whoever takes back one of them takes back all.
func TestARepeatIsTakenBack(t *testing.T) {
	h := mergetest.Found(t, "back")
	p, q := h.Join(t, model.Helper), h.Join(t, model.Helper)
	one := look(t, p)
	two := writeAgain(t, q, p, one)
	q.Write(t, &model.Fact{At: 1, By: q.Member(), Body: &model.Withdrawn{Fact: two}})
	q.Seal(t)
	s := everyOrder(t, h)
	require.Equal(t, 1, notes(s))
	require.False(t, s.Book().Stands(one))
	require.False(t, s.Book().Stands(two))
}

// The same moment and words are not enough: it must be the same person, and one phone
// that says something twice means it.
func TestWhatIsNoRepeat(t *testing.T) {
	h := mergetest.Found(t, "no repeat")
	p, q := h.Join(t, model.Helper), h.Join(t, model.Helper)
	fern := &model.Inspection{Plant: mergetest.ID[model.Plant]("fern")}
	for _, pen := range []*mergetest.Pen{p, p, q} {
		pen.Write(t, &model.Fact{At: mergetest.Start + 1000, By: pen.Member(), Body: fern})
		pen.Seal(t)
	}
	require.Equal(t, 3, notes(everyOrder(t, h)))
}

// A first that does not count leaves its place to the next.
func TestARepeatOfWhatDoesNotCount(t *testing.T) {
	h := mergetest.Found(t, "void")
	p := h.Join(t, model.Helper)
	h.Pens[0].Take(t, p.Batches...)
	revoke(t, h.Pens[0], p)
	late := look(t, p)
	writeAgain(t, h.Pens[0], p, late)
	s := everyOrder(t, h)
	require.Equal(t, 1, notes(s))
	f, ok := s.Book().Fact(late)
	require.False(t, ok, "%v", f)
	require.Len(t, s.SetAside(), 1)
}

// Two copies of one phone come back by an invitation each, as two people, and both write
// again what both held: it counts once, and once beside the old entry, if that turns up.
func TestTwoWhoComeBackSayItOnce(t *testing.T) {
	for _, old := range []bool{false, true} {
		t.Run(fmt.Sprint("the old log turns up: ", old), func(t *testing.T) {
			h := mergetest.Found(t, "two come back")
			was := h.Join(t, model.Helper)
			lost := look(t, was)
			one, two := h.Join(t, model.Helper), h.Join(t, model.Helper)
			ids := []model.FactID{broughtAlong(t, one, was, lost), broughtAlong(t, two, was, lost)}
			if !old {
				was.Batches = was.Batches[:len(was.Batches)-1]
			}
			s := everyOrder(t, h)
			require.Equal(t, 1, notes(s))
			first, ok := s.Book().Fact(ids[0])
			require.True(t, ok)
			other, ok := s.Book().Fact(ids[1])
			require.True(t, ok)
			require.Equal(t, first, other, "whoever names the one means the other")
			if old {
				require.Equal(t, lost, first.ID)
			}
		})
	}
}

// broughtAlong writes what another pen wrote as what the member saw who came since.
func broughtAlong(t *testing.T, p, of *mergetest.Pen, id model.FactID) model.FactID {
	t.Helper()
	f, ok := of.State.Book().Fact(id)
	require.True(t, ok)
	p.Wall = max(p.Wall, of.Wall+1000)
	id = p.Write(t, &model.Fact{At: f.At, By: p.Member(), Body: f.Body})
	p.Seal(t)
	return id
}

// A guest could otherwise take back what a helper wrote: by saying it again.
func TestAGuestsEntryIsNobodyElses(t *testing.T) {
	h := mergetest.Found(t, "guest")
	helper := h.Join(t, model.Helper)
	id := look(t, helper)
	guest := h.Join(t, model.Guest)
	again := broughtAlong(t, guest, helper, id)
	guest.Write(t, &model.Fact{At: 1, By: guest.Member(), Body: &model.Withdrawn{Fact: again}})
	guest.Seal(t)
	s := everyOrder(t, h)
	require.Equal(t, 2, notes(s))
	require.True(t, s.Book().Stands(id))
	require.False(t, s.Book().Stands(again))
}

// Three say the same of one moment, and not every two of them are one: which count
// depends on their order, and not on that of their arrival.
func TestSayingsAreJudgedInOrder(t *testing.T) {
	h := mergetest.Found(t, "in order")
	a, b := h.Join(t, model.Helper), h.Join(t, model.Helper)
	a.Wall, h.Pens[0].Wall = a.Wall+1000, h.Pens[0].Wall+2000
	id := look(t, a)
	f, ok := a.State.Book().Fact(id)
	require.True(t, ok)
	b.Write(t, &model.Fact{At: f.At, By: b.Member(), Body: f.Body}) // was there too
	b.Seal(t)
	late := h.Join(t, model.Helper)
	broughtAlong(t, late, a, id)
	require.Equal(t, 2, notes(everyOrder(t, h)), "the newcomer's is one of the two")
}
