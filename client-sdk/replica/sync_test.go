package replica_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

func TestTwoPhonesKnowTheSame(t *testing.T) {
	s, _, a, b := pair(t)
	require.Equal(t, model.Keeper, a.Role())
	require.Equal(t, model.Helper, b.Role())
	ash, elm := a.Member(), b.Member()
	for _, p := range []*phone{a, b} {
		p.Read(func(book *model.Book) {
			require.Equal(t, "Birch Row 4", book.Household.Name)
			require.Equal(t, "Europe/Oslo", book.Household.Zone)
			require.Equal(t, "Ash", book.Members[ash].Name)
			require.Equal(t, "Elm", book.Members[elm].Name)
			require.Equal(t, "Elm's phone", book.Devices[b.Device()].Name)
		})
	}
	ids := a.do(t, named("Fern"), look("clean"))
	require.Len(t, ids, 2)
	require.Positive(t, a.Status().Unsent)
	a.sync(t)
	require.Zero(t, a.Status().Unsent)
	require.NotZero(t, a.Status().Shared)
	b.sync(t)
	require.Equal(t, "Fern", nameOf(b))
	b.Read(func(book *model.Book) {
		f, ok := book.Fact(ids[1])
		require.True(t, ok)
		require.Equal(t, ash, f.By, "the writer's member stands for nobody")
		require.NotZero(t, f.At)
	})
	requireSame(t, s, a, b)
	digest, err := a.server.Digest(ctx)
	require.NoError(t, err)
	require.Equal(t, a.digest(t), digest)
}

// TestEveryRequestCanFail lets each request of a sync meet each fate, and then
// kills the phone. Whatever happened, the next sync mends it.
func TestEveryRequestCanFail(t *testing.T) {
	for f := requestLost; f < fates; f++ {
		for at := range 5 {
			t.Run(fmt.Sprintf("%v, request %d", f, at+1), func(t *testing.T) {
				s, _, a, b := pair(t)
				s.signOut() // so that signing in is among the requests
				b.do(t, look("by the second"))
				b.sync(t)
				a.do(t, named("Fern"), look("clean"))
				a.line.fates = append(make([]fate, at), f)
				err := a.Sync(ctx, a.server)
				if f != signedOut && len(a.line.fates) == 0 && f != answerCut {
					require.Error(t, err)
					require.NotNil(t, a.Status().Trouble)
				}
				a.line.fates = nil
				a.reopen(t)
				a.sync(t)
				b.sync(t)
				require.Zero(t, a.Status().Unsent)
				require.Equal(t, "Fern", nameOf(b))
				requireSame(t, s, a, b)
			})
		}
	}
}

func TestSignsInAgainInTheMiddle(t *testing.T) {
	s, _, a, b := pair(t)
	a.do(t, look("clean"))
	before := s.count("POST " + api + "/auth/token")
	s.signOut()
	a.sync(t)
	require.Equal(t, before+1, s.count("POST "+api+"/auth/token"), "once, not at every request")
	a.line.fates = []fate{signedOut, signedOut}
	require.NoError(t, a.Sync(ctx, a.server))
	b.sync(t)
	requireSame(t, s, a, b)
}

func TestEditsOfOneFieldLoseNothing(t *testing.T) {
	s, _, a, b := pair(t)
	a.do(t, named("Fern"))
	a.sync(t)
	b.sync(t)
	a.do(t, named("Fern by the door"))
	b.do(t, named("Fern in the bath"))
	a.sync(t)
	b.sync(t)
	a.sync(t)
	requireSame(t, s, a, b)
	require.Equal(t, "Fern in the bath", nameOf(a), "the later one wins")
	ref, key := model.Ref{Kind: model.KindPlant, ID: fern.UUID()}, model.FieldKey{Field: model.PlantName}
	for _, p := range []*phone{a, b} {
		lost := p.Lost(ref, key)
		require.Len(t, lost, 1, "the first name was seen by both and is not lost")
		require.Equal(t, "Fern by the door", lost[0].Value.Text)
		require.Equal(t, a.Device(), lost[0].By.Device)
	}
	a.do(t, named("Big fern"))
	require.Equal(t, "Big fern", nameOf(a), "who has seen it wins over it, whatever the clocks say")
}

// TestServerWithLess: the server was restored from an old copy, and the phones give
// it back what it lost, also what others wrote.
func TestServerWithLess(t *testing.T) {
	s, _, a, b := pair(t)
	for i := range 4 {
		a.do(t, look(fmt.Sprint("a", i)))
		a.sync(t)
		b.do(t, look(fmt.Sprint("b", i)))
		b.sync(t)
	}
	a.sync(t)
	whole := a.digest(t)
	s.forget(t, func(_ model.DeviceID, n int) int { return n / 2 })
	require.NotEqual(t, whole, fmt.Sprintf("%x", mustDigest(t, s)))
	a.sync(t)
	requireSame(t, s, a, b)
	require.Equal(t, whole, fmt.Sprintf("%x", mustDigest(t, s)))
	require.Zero(t, a.Status().Unsent)

	// It forgets that the second phone ever joined; the second mends that itself.
	s.forget(t, func(d model.DeviceID, n int) int {
		if d == b.Device() {
			return 0
		}
		return n
	})
	s.signOut()
	b.sync(t)
	requireSame(t, s, a, b)
}

func mustDigest(t tester, s *fakeServer) [32]byte {
	d, err := s.household.State.Digest()
	require.NoError(t, err)
	return d
}

// TestOldCopyCatchesUp: a phone restored from a copy that has written nothing new
// takes its own later operations from the server.
func TestOldCopyCatchesUp(t *testing.T) {
	s, _, a, b := pair(t)
	twin := copyOf(t, b)
	b.do(t, look("later"))
	b.sync(t)
	twin.sync(t)
	twin.do(t, look("goes on"))
	twin.sync(t)
	a.sync(t)
	require.Equal(t, []string{"later", "goes on"}, notes(a))
	requireSame(t, s, a, twin)
}

func notes(p *phone) (out []string) {
	p.Read(func(b *model.Book) {
		for _, f := range b.Facts() {
			if i, ok := f.Body.(*model.Inspection); ok {
				out = append(out, i.Note)
			}
		}
	})
	return out
}

func TestClockIsCorrected(t *testing.T) {
	for _, c := range []struct {
		name          string
		off, remained int64
	}{
		{"two hours behind", -7_200_000, 0},
		{"a day ahead", 86_400_000, 0},
		{"half a second", 500, 500},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, clock, a, _ := pair(t)
			a.opts.Wall = func() int64 { return clock.now() + c.off }
			a.reopen(t)
			a.sync(t)
			require.InDelta(t, clock.now()+c.remained, int64(a.Now()), 50)
			a.reopen(t)
			require.InDelta(t, clock.now()+c.remained, int64(a.Now()), 50, "it is remembered offline")
		})
	}
}

// TestLaterEditWinsOverAFastClock: who has seen an edit wins over it, though the
// phone that wrote it ran a day ahead; also after the app was closed in between.
func TestLaterEditWinsOverAFastClock(t *testing.T) {
	s, clock, a, b := pair(t)
	b.opts.Wall = func() int64 { return clock.now() + 86_400_000 }
	b.reopen(t)
	b.do(t, named("by a fast phone"))
	b.sync(t)
	a.sync(t)
	require.Equal(t, "by a fast phone", nameOf(a))
	a.do(t, named("seen and changed"))
	require.Equal(t, "seen and changed", nameOf(a))
	a.reopen(t)
	a.do(t, named("changed again"))
	require.Equal(t, "changed again", nameOf(a))
	a.sync(t)
	b.sync(t)
	require.Equal(t, "changed again", nameOf(b))
	requireSame(t, s, a, b)
}

// TestWritingGoesOnDuringASync: between any two requests somebody writes.
func TestWritingGoesOnDuringASync(t *testing.T) {
	s, _, a, b := pair(t)
	var want []string
	busy := a.Server(transport(func(r replica.Request) (*replica.Response, error) {
		note := fmt.Sprint("during request ", len(want))
		want = append(want, note)
		a.do(t, look(note))
		return a.line.Do(ctx, r)
	}))
	for range 3 {
		b.do(t, named("Fern"))
		b.sync(t)
		require.NoError(t, a.Sync(ctx, busy))
		require.Positive(t, a.Status().Unsent)
	}
	a.reopen(t)
	require.Equal(t, want, notes(a))
	a.sync(t)
	b.sync(t)
	require.Equal(t, want, notes(b))
	requireSame(t, s, a, b)
}

// TestMuchToSay moves more than fits into one message, both ways.
func TestMuchToSay(t *testing.T) {
	s, _, a, b := pair(t)
	long := make([]byte, 3000)
	for i := range long {
		long[i] = 'a' + byte(i*i%26)
	}
	for i := range 700 {
		a.do(t, look(fmt.Sprint(i, string(long))))
		b.do(t, look(fmt.Sprint(i, string(long))))
	}
	a.sync(t)
	b.sync(t)
	a.sync(t)
	requireSame(t, s, a, b)
	require.Len(t, notes(a), 1400)
}

func TestNewerMessageIsRefusedInWords(t *testing.T) {
	_, _, a, _ := pair(t)
	newer := transport(func(r replica.Request) (*replica.Response, error) {
		resp, err := a.line.Do(ctx, r)
		if r.Path[len(r.Path)-9:] == "/exchange" {
			require.Equal(t, byte(1), resp.Body[1], "the first key is the version")
			require.Equal(t, byte(1), resp.Body[2], "and this one is 1")
			resp.Body[2] = 2
		}
		return resp, err
	})
	err := a.Sync(ctx, a.Server(newer))
	require.Error(t, err)
	require.Equal(t, "message_version_unknown", string(a.Status().Trouble.Code))
}

type transport func(replica.Request) (*replica.Response, error)

func (f transport) Do(_ context.Context, r replica.Request) (*replica.Response, error) { return f(r) }
