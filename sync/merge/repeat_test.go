package merge_test

import (
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
		pen.Write(t, &model.Fact{At: 7, By: pen.Member(), Body: fern})
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
