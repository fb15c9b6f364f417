package main

import (
	"context"
	"crypto/rand"
	random "math/rand/v2"
	"time"

	"github.com/google/uuid"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
)

// follower is a whole phone of the SDK.
type follower struct {
	*replica.Replica
	server *replica.Server
}

var options = replica.Options{Wall: func() int64 { return time.Now().UnixMilli() }, Random: rand.Reader, NewID: uuid.New}

// pair founds one more household, with two whole phones.
func (t *trial) pair(ctx context.Context) (a, b *follower, err error) {
	way, err := remote.New("http://"+t.server.address, nil)
	if err != nil {
		return nil, nil, err
	}
	founder, err := replica.Found(ctx, memvault.New(), options, replica.Start{Household: "Load", Zone: "UTC", Member: "A", Setup: t.server.setup})
	if err != nil {
		return nil, nil, err
	}
	a = &follower{founder, founder.Server(way)}
	if err := a.Announce(ctx, a.server); err != nil {
		return nil, nil, err
	}
	invitation, _, err := a.Invite(ctx, model.Helper, model.MemberID{})
	if err != nil {
		return nil, nil, err
	}
	if err := a.Sync(ctx, a.server); err != nil {
		return nil, nil, err
	}
	guest, err := replica.Join(ctx, memvault.New(), options, invitation, replica.Start{Member: "B"})
	if err != nil {
		return nil, nil, err
	}
	b = &follower{guest, guest.Server(way)}
	if err := b.Announce(ctx, b.server); err != nil {
		return nil, nil, err
	}
	for range 2 { // what is there, and then the names
		if err := firstOf(b.Sync(ctx, b.server), a.Sync(ctx, a.server)); err != nil {
			return nil, nil, err
		}
	}
	return a, b, nil
}

// changes measures the time from a tap on one phone until the other has it, which
// hears of it over a stream and fetches it. Neither draws anything.
func (t *trial) changes(ctx context.Context) error {
	a, b, err := t.pair(ctx)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	signs := make(chan replica.Sign, 64)
	go func() {
		rhythm := replica.Rhythm{After: time.After, Random: random.Float64}
		_ = b.Watch(ctx, b.server, rhythm, func(s replica.Sign) { signs <- s }) // it ends with ctx
		close(signs)
	}()
	<-signs
	var took []time.Duration
	for range t.seen {
		began := time.Now()
		if _, err := a.Do(ctx, replica.Seen(&model.Inspection{Plant: model.PlantID{1}})); err != nil {
			return err
		}
		if err := a.Sync(ctx, a.server); err != nil {
			return err
		}
		for b.Mark() != a.Mark() {
			if s, open := <-signs; !open {
				return ctx.Err()
			} else if s != replica.News {
				continue
			}
			if err := b.Sync(ctx, b.server); err != nil {
				return err
			}
		}
		took = append(took, time.Since(began))
	}
	t.figure("change-seen-p50-ms", milliseconds(percentile(took, 50)), "ms")
	t.figure("change-seen-p95-ms", milliseconds(percentile(took, 95)), "ms")
	return nil
}
