package main

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"time"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// The day on which everything happens, in UTC, where the households live.
var (
	night = time.Date(2026, 3, 14, 5, 0, 0, 0, time.UTC)
	eight = time.Date(2026, 3, 14, 8, 0, 0, 0, time.UTC)
)

// What a small household has.
const (
	plants = 6
	looks  = 10
)

type roomy struct{}

func (roomy) Check() error { return nil }

func open(dir string) (*badgerdb.DB, error) {
	return badgerdb.Open(filepath.Join(dir, "store"), badgerdb.Config{Gate: roomy{}, Log: slog.New(slog.DiscardHandler)})
}

func midnight() time.Time { return night }

// fill founds the households by the server's own rules, and subscribes their phones.
func fill(ctx context.Context, dir string, households int, p *push) (err error) {
	db, err := open(dir)
	if err != nil {
		return err
	}
	defer func() { // the server needs the files
		if e := db.Close(); err == nil {
			err = e
		}
	}()
	service := household.New(db, midnight)
	notes := notify.New(notify.Config{Store: db, Check: func(webpush.Subscription) error { return nil }, Now: midnight})
	next := make(chan int)
	errs := make(chan error, 64)
	var work sync.WaitGroup
	for range cap(errs) {
		work.Go(func() {
			var err error
			for i := range next {
				if err == nil {
					err = moveIn(ctx, service, notes, i, p)
				}
			}
			errs <- err
		})
	}
	for i := range households {
		next <- i
	}
	close(next)
	work.Wait()
	for range cap(errs) {
		if err := <-errs; err != nil {
			return err
		}
	}
	return nil
}

// moveIn founds one household.
func moveIn(ctx context.Context, s *household.Service, n *notify.Service, number int, p *push) error {
	seed := sha256.Sum256(binary.BigEndian.AppendUint64([]byte("load"), uint64(number)))
	key := ed25519.NewKeyFromSeed(seed[:])
	public := key.Public().(ed25519.PublicKey)
	nonce := [16]byte(seed[:16])
	h, d := model.HouseholdIDOf(public, nonce), model.DeviceIDOf(public)
	tail := oplog.NewTail(h, d)
	clock := hlc.NewClock(func() int64 { return night.UnixMilli() })
	m := &wire.Message{Household: h}
	for _, bodies := range [][]any{{&oplog.Found{Key: public, Nonce: nonce}}, belongings(h, oplog.FoundingMember(public))} {
		before := tail.Head()
		var ops [][]byte
		for _, body := range bodies {
			more, err := tail.Write(clock.Now(), body)
			if err != nil {
				return err
			}
			ops = append(ops, more...)
		}
		b, err := tail.Seal(key, before, ops)
		if err != nil {
			return err
		}
		m.Batches, m.Have = append(m.Batches, b), oplog.Vector{d: b.Last()}
	}
	if _, err := s.Found(ctx, m, func(found func() error) error { return found() }); err != nil {
		return err
	}
	return n.Subscribe(ctx, h, d, p.subscription(number))
}

// belongings are what the founder writes: a member who wants a digest, a place whose
// round is due, its plants, and looks of the days before.
func belongings(h model.HouseholdID, me model.MemberID) []any {
	place := model.PlaceID{1}
	all := []any{
		set(model.KindHousehold, h.UUID(), model.HouseholdZone, model.Text("Etc/UTC")),
		set(model.KindMember, me.UUID(), model.MemberDigestAt, model.Int(eight.Hour()*60)),
		set(model.KindPlace, place.UUID(), model.PlaceName, model.Text("Kitchen window")),
	}
	for i := range plants {
		id := uuid.UUID{2, byte(i)}
		all = append(all, set(model.KindPlant, id, model.PlantName, model.Text(fmt.Sprint("Plant ", i))), set(model.KindPlant, id, model.PlantPlace, model.IDValue(place)))
	}
	for i := range looks {
		at := model.InstantOf(night.AddDate(0, 0, -9-i))
		all = append(all, &model.Fact{At: at, By: me, Body: &model.Inspection{Plant: model.PlantID{2, byte(i % plants)}}})
	}
	return all
}

func set(k model.Kind, id uuid.UUID, f model.Field, v model.Value) *oplog.Set {
	return &oplog.Set{Record: model.Ref{Kind: k, ID: id}, Fields: []oplog.Setting{{Key: model.FieldKey{Field: f}, Value: v}}}
}
