package simtest_test

import (
	"errors"
	"fmt"

	"leafturn/model"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// What a server had told a phone, and what comes of it when the server is restored. The
// first phone that was told more than is there finds out, and makes the store take another
// epoch. By that all others find out, who have photos that the server may have lost.

// told is what a server told a phone at the last sync. A phone that has taken another key
// since is new to the server, and cannot tell that it was forgotten.
type told struct {
	to    model.DeviceID
	has   oplog.Vector // how far the server had each log
	epoch wire.Epoch
}

// syncTold lets a phone sync with a server. Afterwards what the phone believes to be shared
// counts as promised, and if the server was restored, all hear of it that can.
func (p *phone) syncTold(s *server) error {
	if p.Status().Restored { // by whichever server: its owner reads it
		clear(p.told)
		if err := p.ForgetRestored(ctx); err != nil {
			return err
		}
	}
	had, err := s.has()
	if err != nil {
		return err
	}
	was := p.told[s]
	if was != nil && was.to != p.Device() {
		was = nil
	}
	lacks := was != nil && !had.Covers(was.has)
	other := was != nil && s.disk.now.epoch != was.epoch
	if err := p.Sync(ctx, p.server(s)); err != nil {
		return err
	}
	shared := p.Vector()[p.Device()] - uint64(p.Status().Unsent)
	s.promised[p.Device()] = max(s.promised[p.Device()], shared)
	has, err := s.has()
	has[p.Device()] = shared
	p.told[s] = &told{p.Device(), has, s.disk.now.epoch}
	if (lacks || other) && !p.Status().Restored {
		p.w.broken = errors.Join(p.w.broken, fmt.Errorf("%s does not find out that %s was restored", p.name, s.name))
	}
	if lacks && s.disk.now.epoch == was.epoch {
		p.w.broken = errors.Join(p.w.broken, fmt.Errorf("%s does not tell %s that it was restored", p.name, s.name))
	}
	return err
}
