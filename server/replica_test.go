package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/photo/phototest"
)

// sdkPhone is a phone of the SDK, whose answers are lost when it is told so.
type sdkPhone struct {
	*replica.Replica
	vault *memvault.Vault
	wire  *lossy
}

// lossy carries requests, and loses the answer to the one that it counts down to.
type lossy struct {
	replica.Transport
	loseAfter int // 0 loses none
}

func (l *lossy) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	resp, err := l.Transport.Do(ctx, r)
	if l.loseAfter > 0 {
		if l.loseAfter--; l.loseAfter == 0 {
			return nil, replica.ErrOffline
		}
	}
	return resp, err
}

var sdkOptions = replica.Options{Wall: func() int64 { return time.Now().UnixMilli() }, Random: rand.Reader, NewID: uuid.New}

// connect takes the phone up as after a start of its app, on the way to a server.
func (p *sdkPhone) connect(t *testing.T, r *running) *replica.Server {
	t.Helper()
	opened, err := replica.Open(context.Background(), p.vault, sdkOptions)
	require.NoError(t, err)
	p.Replica = opened
	way, err := remote.New(r.url, nil)
	require.NoError(t, err)
	p.wire = &lossy{Transport: way}
	return p.Server(p.wire)
}

func sdkPair(t *testing.T, r *running) (a, b *sdkPhone) {
	ctx := context.Background()
	a, b = &sdkPhone{vault: memvault.New()}, &sdkPhone{vault: memvault.New()}
	founder, err := replica.Found(ctx, a.vault, sdkOptions, replica.Start{Household: "Birch Row 4", Zone: "Europe/Oslo", Member: "Ash", Setup: setupLink.FindStringSubmatch(r.said)[1]})
	require.NoError(t, err)
	s := a.connect(t, r)
	for lose := range 2 { // the answer to the first try is lost
		a.wire.loseAfter = 1 - lose
		err = a.Announce(ctx, s)
		require.Equal(t, lose == 0, err != nil, "%v", err)
	}
	require.Equal(t, founder.Household(), a.Household())
	i, _, err := a.Invite(ctx, model.Helper, model.MemberID{})
	require.NoError(t, err)
	require.NoError(t, a.Sync(ctx, s))
	_, err = replica.Join(ctx, b.vault, sdkOptions, i, replica.Start{Member: "Elm"})
	require.NoError(t, err)
	s = b.connect(t, r)
	b.wire.loseAfter = 1
	require.ErrorIs(t, b.Announce(ctx, s), replica.ErrOffline)
	require.NoError(t, b.Announce(ctx, s), "the used invitation holds for the phone that used it")
	require.NoError(t, b.Sync(ctx, s))
	return a, b
}

// TestReplicaWithTheServer runs the SDK's phones against the true server: every
// answer of a sync and of an upload is lost once, the server is killed in between,
// and in the end all know the same.
func TestReplicaWithTheServer(t *testing.T) {
	ctx := context.Background()
	data := t.TempDir()
	r := serve(t, data)
	a, b := sdkPair(t, r)
	plant := model.PlantID(uuid.New())
	_, err := a.Do(ctx, replica.Set(model.KindPlant, plant, replica.To(model.PlantName, model.Text("Fern"))))
	require.NoError(t, err)
	sum, err := a.AddPhoto(ctx, phototest.PNG(900, 900, 1))
	require.NoError(t, err)

	lost := 0
	for at := 1; at <= 6; at++ {
		_, err := a.Do(ctx, replica.Seen(&model.Inspection{Plant: plant, Photos: []model.PhotoSum{sum}, Note: fmt.Sprint("look ", at)}))
		require.NoError(t, err)
		s := a.connect(t, r)
		a.wire.loseAfter = at
		if err := a.Sync(ctx, s); err != nil {
			require.ErrorIs(t, err, replica.ErrOffline)
			lost++
		}
		s = a.connect(t, r)
		a.wire.loseAfter = at
		if err := a.Upload(ctx, s, nil); err != nil {
			require.ErrorIs(t, err, replica.ErrOffline)
			lost++
		}
		if at == 3 {
			require.NoError(t, r.cmd.Process.Kill())
			_ = r.cmd.Wait()
			r = serve(t, data)
		}
	}
	require.Greater(t, lost, 4)

	sa, sb := a.connect(t, r), b.connect(t, r)
	require.NoError(t, a.Upload(ctx, sa, nil))
	for range 2 {
		require.NoError(t, a.Sync(ctx, sa))
		require.NoError(t, b.Sync(ctx, sb))
	}
	require.Zero(t, a.Status().Unsent)
	require.Zero(t, b.Status().Unsent)
	want, err := a.Digest()
	require.NoError(t, err)
	got, err := b.Digest()
	require.NoError(t, err)
	require.Equal(t, want, got)
	served, err := sb.Digest(ctx)
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf("%x", want), served)
	b.Read(func(book *model.Book) { require.Len(t, book.PlantFacts(plant), 6) })

	mine, _, err := a.PhotoBytes(ctx, nil, sum, 0)
	require.NoError(t, err)
	thumbnail, mime, err := b.PhotoBytes(ctx, sb, sum, replica.ThumbnailSize)
	require.NoError(t, err)
	require.NotEmpty(t, thumbnail)
	require.Equal(t, "image/jpeg", mime)
	theirs, _, err := b.PhotoBytes(ctx, sb, sum, 0)
	require.NoError(t, err)
	require.Equal(t, mine, theirs)
}

// TestServerRefusesACopiedPhone: two phones that write as one, as many operations
// each, are found out although neither lacks a number. The copy takes a new identity
// and what it wrote with it.
func TestACopiedPhoneTakesANewIdentity(t *testing.T) {
	ctx := context.Background()
	r := serve(t, t.TempDir())
	_, b := sdkPair(t, r)
	s := b.connect(t, r)
	require.NoError(t, b.Sync(ctx, s))

	id, err := b.vault.Identity(ctx)
	require.NoError(t, err)
	twin := &sdkPhone{vault: memvault.New()}
	require.NoError(t, twin.vault.Begin(ctx, replica.Beginning{Identity: *id}))
	heads, err := b.vault.Heads(ctx)
	require.NoError(t, err)
	for d := range heads {
		batches, err := b.vault.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		require.NoError(t, twin.vault.Append(ctx, batches))
	}
	ts := twin.connect(t, r)
	for p, note := range map[*sdkPhone]string{b: "the phone", twin: "the copy"} {
		_, err := p.Do(ctx, replica.Seen(&model.Inspection{Plant: model.PlantID{1}, Note: note}))
		require.NoError(t, err)
	}
	require.NoError(t, b.Sync(ctx, s))
	require.Nil(t, b.Status().Blocked)
	require.NoError(t, twin.Sync(ctx, ts))
	require.Nil(t, twin.Status().Blocked)
	require.NotNil(t, twin.Status().Moved)
	require.Equal(t, "log_forked", string(twin.Status().Moved.Why.Code))
	require.Equal(t, 1, twin.Status().Moved.Carried)
	require.NoError(t, twin.Sync(ctx, ts))
	require.NoError(t, b.Sync(ctx, s))
	require.Zero(t, twin.Status().Unsent)
	require.NotEqual(t, b.Device(), twin.Device())
	for _, p := range []*sdkPhone{b, twin} {
		p.Read(func(book *model.Book) { require.Len(t, book.PlantFacts(model.PlantID{1}), 2) })
	}
}
