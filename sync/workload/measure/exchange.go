package main

import (
	"context"
	"fmt"
	"strconv"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/wire"
	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

// exchangeAll lets four devices that were offline talk to a hub in turn until all
// five know the same, and counts every byte of every message. A record has to
// reach four replicas that did not write it.
func exchangeAll(w world) error {
	h, records, err := w.household()
	if err != nil {
		return err
	}
	replicas, err := w.offline(h)
	if err != nil {
		return err
	}
	hub, phones := replicas[0], replicas[1:]
	total, rounds := 0, 0
	for ; !agree(replicas); rounds++ {
		for _, p := range phones {
			n, err := talk(p, hub)
			if err != nil {
				return err
			}
			total += n
		}
		if rounds > 10 {
			return fmt.Errorf("no agreement after %d rounds", rounds)
		}
	}
	meter.Print("wire-bytes-per-record", float64(total)/float64(records)/workload.Devices, "B")
	meter.Print("wire-rounds", float64(rounds), "rounds")
	return nil
}

// offline is the hub and the four devices before they talk: all know the starting
// state, each device its own log.
func (w world) offline(h model.HouseholdID) ([]*memlog.Replica, error) {
	ctx := context.Background()
	base, err := workload.ReadBatches(w.file("base"))
	if err != nil {
		return nil, err
	}
	var out []*memlog.Replica
	for i := range 1 + workload.Devices {
		r := memlog.NewReplica(h)
		own := base
		if i > 0 {
			log, err := workload.ReadBatches(w.file("log-" + strconv.Itoa(i-1)))
			if err != nil {
				return nil, err
			}
			own = append(own[:len(own):len(own)], log...)
		}
		if refused, err := r.Take(ctx, own); err != nil || len(refused) > 0 {
			return nil, fmt.Errorf("set up replica: %v %v", refused, err)
		}
		out = append(out, r)
	}
	return out, nil
}

// talk is one conversation until both sides have nothing left to say, and the
// bytes of its messages.
func talk(a, b *memlog.Replica) (int, error) {
	ctx := context.Background()
	var pa, pb exchange.Peer
	total := 0
	for range 1000 {
		for _, turn := range []struct {
			from, to        *memlog.Replica
			speaks, listens *exchange.Peer
		}{{a, b, &pa, &pb}, {b, a, &pb, &pa}} {
			m, err := turn.speaks.Next(ctx, turn.from)
			if err != nil {
				return 0, err
			}
			data, err := m.Encode()
			if err != nil {
				return 0, err
			}
			total += len(data)
			if err := deliver(turn.listens, turn.to, data); err != nil {
				return 0, err
			}
		}
		if pa.Settled(a) && pb.Settled(b) {
			return total, nil
		}
	}
	return 0, fmt.Errorf("talk: no end")
}

func agree(rs []*memlog.Replica) bool {
	for _, r := range rs[1:] {
		if !r.Vector().Equal(rs[0].Vector()) {
			return false
		}
	}
	return true
}

// deliver reads a message from its bytes and takes it in.
func deliver(p *exchange.Peer, r *memlog.Replica, data []byte) error {
	m, bad, err := wire.Decode(data)
	if err != nil {
		return err
	}
	if len(bad) > 0 {
		return bad[0]
	}
	return p.Take(context.Background(), r, m)
}
