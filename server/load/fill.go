package main

import (
	"context"
	"crypto/ed25519"
	"log/slog"
	"path/filepath"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/sync/oplog"
)

// home is one household and its phones.
type home struct{ phones []*phone }

func (t *trial) data() string { return filepath.Join(t.dir, "data") }

// store opens the data folder as the server would, while no server runs.
func (t *trial) store(use func(*badgerdb.DB) error) (err error) {
	dir, err := datadir.Open(t.data())
	if err != nil {
		return err
	}
	defer func() { err = firstOf(err, dir.Close()) }()
	db, err := badgerdb.Open(dir.Store(), badgerdb.Config{Gate: dir.Gate(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer func() { err = firstOf(err, db.Close()) }()
	return use(db)
}

// fill founds the households and lets their phones join, by the server's own rules
// but without HTTP.
func (t *trial) fill(ctx context.Context) error {
	all := make([]*home, t.households+slices.Max(t.writers))
	err := t.store(func(db *badgerdb.DB) error {
		service := household.New(db, time.Now)
		return together(64, len(all), func(i int) (err error) {
			all[i], err = moveIn(ctx, service, i)
			return err
		})
	})
	t.homes, t.others = all[:t.households], all[t.households:]
	return err
}

// together calls do for each number below n, so many at a time, and gives one of the
// errors.
func together(workers, n int, do func(i int) error) error {
	next := make(chan int)
	errs := make(chan error, workers)
	for range workers {
		go func() {
			var err error
			for i := range next {
				if err == nil {
					err = do(i)
				}
			}
			errs <- err
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	var all []error
	for range workers {
		all = append(all, <-errs)
	}
	return firstOf(all...)
}

// moveIn founds a household, and lets all but the founder join it.
func moveIn(ctx context.Context, s *household.Service, number int) (*home, error) {
	public, key := newKey()
	nonce := [16]byte{byte(number), byte(number >> 8)}
	founder := newPhone(model.HouseholdIDOf(public, nonce), key, number*perHousehold)
	h := &home{phones: []*phone{founder}}
	if err := founder.write(&oplog.Found{Key: public, Nonce: nonce}); err != nil {
		return nil, err
	}
	freely := func(found func() error) error { return found() }
	if _, err := s.Found(ctx, founder.message(founder.unsent...), freely); err != nil {
		return nil, err
	}
	for n := 1; n < perHousehold; n++ {
		guest, err := founder.invite(number*perHousehold + n)
		if err == nil {
			err = founder.syncWith(ctx, s)
		}
		if err == nil {
			_, err = s.Join(ctx, guest.message(guest.unsent...))
		}
		if err != nil {
			return nil, err
		}
		h.phones = append(h.phones, guest)
	}
	for _, p := range h.phones {
		if err := p.syncWith(ctx, s); err != nil {
			return nil, err
		}
	}
	return h, nil
}

// invite makes a phone that holds an invitation and has written that it joins.
func (p *phone) invite(number int) (*phone, error) {
	invitation, secret := newKey()
	public, key := newKey()
	expires := model.Instant(time.Now().Add(time.Hour).UnixMilli())
	if err := p.write(&oplog.Invite{Key: invitation, Role: model.Helper, Expires: expires}); err != nil {
		return nil, err
	}
	via := model.FactID{Device: p.device, Seq: p.tail.Head().Seq}
	guest := newPhone(p.household, key, number)
	guest.clock.Observe(p.tail.Stamp())
	proof := ed25519.Sign(secret, oplog.JoinBytes(p.household, public))
	return guest, guest.write(&oplog.Join{Key: public, Via: via, Proof: proof})
}

// syncWith exchanges with the service itself.
func (p *phone) syncWith(ctx context.Context, s *household.Service) error {
	for same := false; !same; {
		answer, err := s.Exchange(ctx, p.household, p.device, p.message(p.page()...))
		if err != nil {
			return err
		}
		if same, err = p.take(answer); err != nil {
			return err
		}
	}
	return nil
}
