package main

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"path/filepath"
	"sync"
	"time"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/upload"
	"leafturn/server/auth"
	"leafturn/server/badgerdb"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/server/httpapi"
	"leafturn/server/store"
	"leafturn/server/verify"
)

// How often to tidy up what nobody needs any more.
const (
	collectEvery = 10 * time.Minute // space in the log store
	sweepEvery   = time.Hour        // uploads that nobody completed
	tidyFirst    = time.Hour        // reading all logs must not slow a start
	tidyEvery    = 24 * time.Hour   // photos that no entry has shown for long
)

// errWriteFailed ends the process: what the log store would say from now on may not
// be on the disk. The log tells the cause.
var errWriteFailed = errors.New("a write to the log store failed")

// opening collects what must be closed again, in the opposite order.
type opening struct{ closers []func() error }

func (o *opening) add(close func() error) { o.closers = append(o.closers, close) }

func (o *opening) close() error {
	var errs []error
	for i := len(o.closers) - 1; i >= 0; i-- {
		errs = append(errs, o.closers[i]())
	}
	return errors.Join(errs...)
}

// openParts opens the stores in the data directory and puts the use cases on them.
func openParts(dir *datadir.Dir, s settings, setup *auth.Setup, log *slog.Logger) (p parts, err error) {
	var o opening
	defer func() {
		if err != nil {
			err = errors.Join(err, o.close())
		}
	}()
	logs, err := openLogs(&o, dir, log)
	if err != nil {
		return parts{}, err
	}
	photos, uploads, err := openPhotos(&o, dir, s.photoSpace, log)
	if err != nil {
		return parts{}, err
	}
	service := household.New(logs, time.Now)
	o.add(tidying(logs, service, photos, log))
	routes := &httpapi.Households{Service: service, Setup: setup}
	events := httpapi.NewEvents(service, time.Now, httpapi.Pulse, log)
	o.add(events.Close)
	reminders, endReminders, err := openReminders(&o, dir, s.publicURL, logs, service, log)
	if err != nil {
		return parts{}, err
	}
	return parts{
		directory: service,
		public:    []httpapi.Mount{routes.Public, reminders.Public},
		member:    []httpapi.Mount{routes.Member, events.Member, reminders.Member, httpapi.MemberPhotos(dir.Gate(), photos, uploads)},
		stop:      func() { events.Stop(); endReminders() },
		failed:    failures(&o, logs.Broken()),
		close:     o.close,
	}, nil
}

func openLogs(o *opening, dir *datadir.Dir, log *slog.Logger) (*badgerdb.DB, error) {
	tick := time.NewTicker(collectEvery)
	o.add(func() error { tick.Stop(); return nil })
	db, err := badgerdb.Open(dir.Store(), badgerdb.Config{Gate: dir.Gate(), Tick: tick.C, Log: log})
	if err != nil {
		return nil, err
	}
	o.add(db.Close)
	return db, nil
}

func openPhotos(o *opening, dir *datadir.Dir, space int64, log *slog.Logger) (*dirstore.Store, *upload.Desk, error) {
	photos, err := dirstore.Open(dir.Photos())
	if err != nil {
		return nil, nil, err
	}
	o.add(photos.Close)
	limits := photo.DefaultLimits()
	limits.Quota = space
	finish := func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, r io.ReaderAt, size int64) error {
		_, err := photo.Receive(ctx, photos, hh, sum, r, size, limits)
		return err
	}
	uploads, err := upload.Open(filepath.Join(dir.Path(), "uploads"), finish, upload.DefaultLimits(), time.Now)
	if err != nil {
		return nil, nil, err
	}
	o.add(uploads.Close)
	o.add(sweeping(uploads, log))
	return photos, uploads, nil
}

// sweeping removes expired uploads now and then. It gives the function that stops
// it.
func sweeping(uploads *upload.Desk, log *slog.Logger) (stop func() error) {
	return every(0, sweepEvery, func(ctx context.Context) {
		if _, err := uploads.Sweep(ctx); err != nil && ctx.Err() == nil {
			log.Error("sweep failed", "err", err)
		}
	})
}

// tidying removes photos that no entry has shown for dirstore.Grace.
func tidying(logs store.Store, service *household.Service, photos *dirstore.Store, log *slog.Logger) (stop func() error) {
	return every(tidyFirst, tidyEvery, func(ctx context.Context) {
		if err := tidy(ctx, logs, service, photos, time.Now()); err != nil && ctx.Err() == nil {
			log.Error("tidying photos failed", "err", err)
		}
	})
}

func tidy(ctx context.Context, logs store.Store, service *household.Service, photos *dirstore.Store, now time.Time) error {
	all, err := logs.Households(ctx)
	for _, h := range all {
		if err != nil || ctx.Err() != nil {
			return errors.Join(err, ctx.Err())
		}
		shown, e := verify.Shown(ctx, service, h, nil)
		if e == nil {
			_, e = photos.Tidy(ctx, h, shown.Has, now)
		}
		err = e
	}
	return err
}

// every does something after a while and then once a period, until it is stopped.
func every(first, period time.Duration, do func(context.Context)) (stop func() error) {
	ctx, cancel := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() {
		timer := time.NewTimer(first)
		defer timer.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-timer.C:
				do(ctx)
				timer.Reset(period)
			}
		}
	})
	return func() error { cancel(); work.Wait(); return nil }
}

// failures turns the news that the store is broken into an error.
func failures(o *opening, broken <-chan struct{}) <-chan error {
	failed, stop := make(chan error, 1), make(chan struct{})
	o.add(func() error { close(stop); return nil })
	go func() {
		select {
		case <-broken:
			failed <- errWriteFailed
		case <-stop:
		}
	}()
	return failed
}
