package replica_test

import (
	"encoding/binary"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// at gives a phone's way to another server.
func (p *phone) at(s *fakeServer) *replica.Server { return p.Server(&line{server: s}) }

// secondServer is another server that was given a copy of the household.
func secondServer(t tester, s *fakeServer, c *clock) *fakeServer {
	other := newFakeServer(c.now)
	other.household, other.epoch = s.household, wire.Epoch{Store: 2, Age: 1}
	other.restore(t, s.backup(t))
	return other
}

// A server of the first version says no stubs: then it finds forks when it is sent
// entries, and what it says that it has counts only once it was sent.
func TestAServerWithoutStubs(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	s.first = true
	a := founder(t, s, c)
	b := joiner(t, a, 2, "Elm")
	a.sync(t)
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	twin.do(t, look("the copy"))
	b.sync(t)
	require.Zero(t, b.Status().Unsent)
	twin.sync(t)
	require.Equal(t, oplog.ErrFork.Code, twin.Status().Moved.Why.Code)

	s.first = false // it was updated
	for _, p := range []*phone{a, b, twin} {
		p.sync(t)
		require.False(t, p.Status().Restored, "to be updated is not to be restored")
		require.Zero(t, p.Status().Unsent)
	}
	requireSame(t, s, a, b, twin)
}

// The phone that first finds a server restored tells it, so that all others hear of it,
// although nothing of theirs is missing by then.
func TestAllPhonesHearThatAServerWasRestored(t *testing.T) {
	s, _, a, b := pair(t)
	sum := snap(t, b, 1)
	b.sync(t)
	require.NoError(t, b.Upload(ctx, b.server, nil))
	backup := s.backup(t)
	a.do(t, look("after the backup"))
	a.sync(t)
	b.sync(t)
	require.False(t, b.Status().Restored)

	before := s.epoch
	delete(s.photos, sum)
	s.restore(t, backup)
	a.sync(t)
	require.True(t, a.Status().Restored)
	require.NotEqual(t, before, s.epoch)
	requireSame(t, s, a, b)
	b.sync(t)
	require.True(t, b.Status().Restored, "the server has all entries of this phone, and not its photos")
	b.sync(t)
	b.reopen(t)
	require.True(t, b.Status().Restored, "until somebody has read it")
	require.NoError(t, b.ForgetRestored(ctx))
	b.sync(t)
	require.False(t, b.Status().Restored, "it is told once")
	b.reopen(t)
	require.False(t, b.Status().Restored)
	require.NoError(t, b.Upload(ctx, b.server, nil))
	require.NotNil(t, s.photos[sum], "it is asked all the same")
	asked := s.count("POST " + api + "/households/" + b.Household().String() + "/photos/missing")
	require.NoError(t, b.Upload(ctx, b.server, nil))
	require.Equal(t, asked, s.count("POST "+api+"/households/"+b.Household().String()+"/photos/missing"))
	require.NoError(t, a.ForgetRestored(ctx))
	a.sync(t)
	require.False(t, a.Status().Restored)
}

// A phone learns from the server what others wrote. If the server has less of that, it
// was restored, although it has all that this phone wrote.
func TestAPhoneNoticesWhatAServerForgotOfOthers(t *testing.T) {
	s, _, a, b := pair(t)
	a.do(t, look("by the other"))
	a.sync(t)
	b.sync(t)
	s.forget(t, func(d model.DeviceID, n int) int {
		if d == a.Device() {
			n--
		}
		return n
	})
	b.sync(t)
	require.True(t, b.Status().Restored)
	requireSame(t, s, a, b)
}

// A phone that a restored server does not know any more brings along all that it knows
// when it introduces itself, so that nothing is missing when the two compare.
func TestAPhoneThatIsForgottenNoticesIt(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	invite, _, err := a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	backup := s.backup(t)
	a.sync(t)
	b := newPhone(s, c, 2)
	r, err := replica.Join(ctx, b.vault, b.opts, invite, replica.Start{})
	require.NoError(t, err)
	b.use(r).sync(t)
	a.do(t, look("after the backup"))
	a.sync(t)
	b.sync(t)

	before := s.epoch
	s.restore(t, backup)
	b.sync(t)
	require.True(t, b.Status().Restored)
	require.NotEqual(t, before, s.epoch)
	a.sync(t)
	require.True(t, a.Status().Restored, "the server has all entries of this phone again, and not its photos")
	requireSame(t, s, a, b)
}

// A phone finds its server restored, and is killed, or the line breaks, before it has
// brought the server up to date.
func TestWhatARestoredServerForgotIsNotCalledShared(t *testing.T) {
	s, _, a, _ := pair(t)
	backup := s.backup(t)
	a.do(t, look("one"), look("two"))
	a.sync(t)
	s.restore(t, backup)
	a.line.fates = []fate{arrives, requestLost}
	require.Error(t, a.Sync(ctx, a.server))
	for range 2 {
		require.NotZero(t, a.Status().Unsent)
		a.reopen(t)
	}
	before := s.epoch
	a.sync(t)
	require.Zero(t, a.Status().Unsent)
	require.NotEqual(t, before, s.epoch, "it still hears of it")
}

// What one server has acknowledged says nothing about another.
func TestTwoServers(t *testing.T) {
	s, c, a, b := pair(t)
	sum := snap(t, a, 1)
	a.sync(t)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	other := secondServer(t, s, c)
	second := a.at(other)
	a.do(t, look("one"))
	a.sync(t)
	require.NoError(t, a.Sync(ctx, second))
	require.False(t, a.Status().Restored, "another server is not a restored one")
	require.Zero(t, a.Status().Unsent)
	require.NoError(t, a.Upload(ctx, second, nil))
	require.NotNil(t, other.photos[sum], "a photo that one has, the other may lack")

	a.do(t, look("two"), look("three"))
	a.sync(t)
	require.Zero(t, a.Status().Unsent)
	a.reopen(t)
	require.Zero(t, a.Status().Unsent)
	second = a.Server(&line{server: other, fates: []fate{arrives, arrives, arrives, requestLost}}) // signing in takes two
	require.ErrorIs(t, a.Sync(ctx, second), replica.ErrOffline)
	require.Equal(t, 2, a.Status().Unsent, "the one that was asked last lacks them")
	require.False(t, a.Status().Restored)
	a.sync(t)
	require.Zero(t, a.Status().Unsent)
	require.NoError(t, a.Sync(ctx, a.at(other)))
	require.False(t, a.Status().Restored)
	require.NoError(t, b.Sync(ctx, b.at(other)))
	requireSame(t, other, a, b)
}

// A second server has another history under the numbers that the first has acknowledged.
func TestASecondServerWithAnotherHistory(t *testing.T) {
	s, c, _, b := pair(t)
	other := secondServer(t, s, c)
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	twin.do(t, look("the copy"))
	b.sync(t)
	require.NoError(t, twin.Sync(ctx, twin.at(other)))
	require.Zero(t, b.Status().Unsent)
	require.NoError(t, b.Sync(ctx, b.at(other)))
	require.NotNil(t, b.Status().Moved, "what the other server has is not what this phone wrote")
	require.Zero(t, b.Status().Unsent)
	sameNotes(t, []string{"the phone", "the copy"}, b)
}

// What a version kept that knew one server is taken up.
func TestTheContactOfAnEarlierVersion(t *testing.T) {
	s, c, a, _ := pair(t)
	a.do(t, look("one"))
	a.sync(t)
	kept := binary.BigEndian.AppendUint64(nil, a.Vector()[a.Device()])
	kept = binary.BigEndian.AppendUint64(kept, uint64(c.now()))
	kept = binary.BigEndian.AppendUint64(kept, 0)
	for name, data := range map[string][]byte{"whole": kept, "cut": kept[:20]} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, a.vault.Keep(ctx, "contacts", nil))
			require.NoError(t, a.vault.Keep(ctx, "contact", data))
			a.reopen(t)
			require.Equal(t, name == "whole", a.Status().Unsent == 0)
			require.Equal(t, name == "whole", a.Status().Shared != 0)
			a.sync(t)
			require.False(t, a.Status().Restored)
			require.Zero(t, a.Status().Unsent)
		})
	}
	require.NoError(t, a.vault.Keep(ctx, "contacts", []byte("?")))
	a.reopen(t)
	require.NotZero(t, a.Status().Unsent, "nothing is believed that cannot be read")
	a.sync(t)
	require.Zero(t, a.Status().Unsent)

	require.NoError(t, a.vault.Keep(ctx, "contacts", nil))
	require.NoError(t, a.vault.Keep(ctx, "contact", kept))
	a.reopen(t)
	s.forget(t, func(_ model.DeviceID, n int) int { return n - 1 })
	a.sync(t)
	require.True(t, a.Status().Restored)
}

// Three copies of a phone carry over at the same moment what all of them had not sent.
func TestManyCopiesCarryOverAtOnce(t *testing.T) {
	s, _, a, b := pair(t)
	older := copyOf(t, b)
	b.do(t, look("unsent in all copies"))
	copies := []*phone{b}
	for i := range 3 {
		copies = append(copies, copyOf(t, b))
		copies[i+1].opts.Random = newPhone(s, nil, byte(40+i)).opts.Random
		copies[i+1].reopen(t)
	}
	older.do(t, look("by the older copy"))
	older.sync(t)
	want := []string{"unsent in all copies", "by the older copy"}
	// All ask what the server has before any of them has said that it moved: the answer
	// to its own introduction is lost on each.
	for i, p := range copies {
		note := fmt.Sprint("copy ", i)
		p.do(t, look(note))
		want = append(want, note)
	}
	for _, p := range copies {
		for n := 1; p.Device() == older.Device(); n++ {
			require.Less(t, n, 12)
			p.line.fates = make([]fate, n)
			p.line.fates = append(p.line.fates, requestLost)
			_ = p.Sync(ctx, p.server)
			p.line.fates = nil
		}
	}
	for range 3 {
		for _, p := range append(copies, older, a) {
			p.sync(t)
		}
	}
	times := 0
	for _, text := range written(t, s) {
		if text == want[0] {
			times++
		}
	}
	require.Greater(t, times, 1, "it is in several logs")
	sameNotes(t, want, append(copies, older, a)...)
	requireSame(t, s, append(copies, older, a)...)
}

// Only the phone that joined last is left, or one that took its place, and the server was
// restored to a time before anybody was invited.
func TestTheLastPhoneBringsAServerUpToDate(t *testing.T) {
	for name, moved := range map[string]bool{"that joined": false, "that took its place": true} {
		t.Run(name, func(t *testing.T) {
			s, _, a, b := pair(t)
			a.do(t, look("by the founder"))
			a.sync(t)
			b.sync(t)
			if moved {
				twin := copyOf(t, b)
				b.do(t, look("the phone"))
				twin.do(t, look("the copy"))
				twin.sync(t)
				b.sync(t)
				require.NotNil(t, b.Status().Moved)
			}
			want, digest := notes(b), b.digest(t)
			s.forget(t, func(d model.DeviceID, _ int) int {
				if d == a.Device() {
					return 1
				}
				return 0
			})
			s.signOut()
			b.do(t, look("afterwards"))
			b.sync(t)
			requireSame(t, s, b)
			require.NotEqual(t, digest, b.digest(t))
			sameNotes(t, append(want, "afterwards"), b)
			require.True(t, b.Status().Restored)
		})
	}
}
