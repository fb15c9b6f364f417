package main

import (
	"context"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"path/filepath"
	"time"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
)

// open starts the server with all households and looks into each of them.
func (t *trial) open(ctx context.Context) error {
	began := time.Now()
	if err := t.start(ctx, t.data()); err != nil {
		return err
	}
	t.figure("start-ms", milliseconds(time.Since(began)), "ms")
	p := newPool(t.server.address, min(64, len(t.homes)))
	defer p.close()
	err := together(cap(p.lines), len(t.homes), func(i int) error {
		phone := t.homes[i].phones[0]
		return firstOf(phone.signIn(p), phone.sync(p))
	})
	if err != nil {
		return err
	}
	t.settle(ctx)
	t.remember(fmt.Sprintf("households-%d-memory-mb", len(t.homes)))
	return nil
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// again measures the start with as much data as asked for.
func (t *trial) again(ctx context.Context) error {
	if err := t.more(ctx); err != nil {
		return err
	}
	bytes, err := weigh(t.data())
	if err != nil {
		return err
	}
	t.figure("second-start-data-mb", float64(bytes)/1e6, "MB")
	var took []time.Duration
	for range 3 {
		began := time.Now()
		if err := t.start(ctx, t.data()); err != nil {
			return err
		}
		took = append(took, time.Since(began))
		if err := t.server.stop(); err != nil {
			return err
		}
	}
	t.figure("second-start-ms", milliseconds(percentile(took, 50)), "ms")
	return nil
}

// more fills the store up, by the server's own rules, with long notes that do not
// pack well.
func (t *trial) more(ctx context.Context) error {
	have, err := weigh(t.data())
	if err != nil {
		return err
	}
	rounds := int(max(0, t.size.data-have) / int64(len(t.homes)) / batchBytes)
	return t.store(func(db *badgerdb.DB) error {
		service := household.New(db, time.Now)
		return together(8, len(t.homes), func(i int) error {
			p := t.homes[i].phones[0]
			for range rounds {
				if err := p.ramble(rand.New(rand.NewPCG(uint64(i), p.tail.Head().Seq))); err != nil {
					return err
				}
				if err := p.syncWith(ctx, service); err != nil {
					return err
				}
			}
			return nil
		})
	})
}

const (
	batchBytes = 200 << 10
	noteBytes  = 1 << 10
)

// ramble writes one batch of looks with long notes.
func (p *phone) ramble(random *rand.Rand) error {
	var bodies []any
	for range batchBytes / noteBytes {
		note := make([]byte, noteBytes)
		for i := range note {
			note[i] = byte(' ' + random.IntN(95))
		}
		bodies = append(bodies, &model.Fact{At: model.Instant(p.clock.Wall()), By: model.MemberID{1}, Body: &model.Inspection{Plant: model.PlantID{1}, Note: string(note)}})
	}
	return p.write(bodies...)
}

// weigh is the size of all files below a folder.
func weigh(dir string) (sum int64, err error) {
	err = filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err == nil {
			sum += info.Size()
		}
		return err
	})
	return sum, err
}
