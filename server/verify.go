package main

import (
	"context"
	"fmt"
	"time"

	"leafturn/model/fault"
	"leafturn/photo/dirstore"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/server/verify"
)

var errUnsound = fault.New("data_unsound", "Something that was kept is damaged or missing, see above. What phones still hold they send again as soon as they call; if no phone holds it, restore a backup.")

// verify reads everything in the data directory and says what is wrong. The server
// must not be running on it.
func (p *program) verify(ctx context.Context, s settings, _ []effective) (err error) {
	dir, err := datadir.Open(s.data)
	if err != nil {
		return err
	}
	defer closing(dir.Close, &err)
	var o opening
	defer closing(o.close, &err)
	log := newLog(p.err, s.log)
	logs, err := openLogs(&o, dir, log)
	if err != nil {
		return err
	}
	photos, err := dirstore.Open(dir.Photos())
	if err != nil {
		return err
	}
	o.add(photos.Close)
	all, err := logs.Households(ctx)
	if err != nil {
		return err
	}
	service, sound := household.New(logs, time.Now), true
	for _, h := range all {
		r := verify.Household(ctx, service, photos, h)
		sound = sound && r.Sound()
		p.tell(&r)
	}
	fmt.Fprintf(p.out, "%d households were read.\n", len(all))
	if !sound {
		return errUnsound
	}
	return nil
}

// tell prints what was found of a household.
func (p *program) tell(r *verify.Report) {
	state := "sound"
	if !r.Sound() {
		state = "NOT SOUND"
	}
	fmt.Fprintf(p.out, "household %v: %s, %d entries, %d photos, %d that no entry shows\n", r.Household, state, r.Entries, r.Photos, len(r.Orphans))
	for _, sum := range r.Damaged {
		fmt.Fprintf(p.out, "  photo %v is damaged and was set aside\n", sum)
	}
	for _, sum := range r.Missing {
		fmt.Fprintf(p.out, "  photo %v is not here\n", sum)
	}
	if f, ok := fault.From(r.Err); ok {
		fmt.Fprintf(p.out, "  %s\n", f.Words)
	} else if r.Err != nil {
		fmt.Fprintf(p.out, "  %v\n", r.Err)
	}
}
