package main

import (
	"context"
	"log/slog"
	"strings"
	"sync"
	"time"

	"leafturn/server/auth"
	"leafturn/server/badgerdb"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/server/httpapi"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
)

// remindEvery is how often it is asked whether somebody is to be told something.
const remindEvery = time.Second

// openReminders starts telling people what is due. Push services are told the
// server's public address as the contact, if it has one that they can reach.
func openReminders(o *opening, dir *datadir.Dir, publicURL string, db *badgerdb.DB, service *household.Service, log *slog.Logger) (_ *httpapi.Reminders, stop func(), err error) {
	contact := ""
	if strings.HasPrefix(publicURL, "https://") {
		contact = publicURL
	}
	key, err := auth.LoadSenderKey(dir.SenderKey(), contact, time.Now)
	if err != nil {
		return nil, nil, err
	}
	notes := notify.New(notify.Config{
		Store:      db,
		Households: service,
		Push:       webpush.New(key, webpush.Public, time.Now),
		Check:      webpush.Public.Check,
		Now:        time.Now,
		Log:        log,
	})
	service.OnChange(notes.Changed)
	ctx, cancel := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() {
		tick := time.NewTicker(remindEvery)
		defer tick.Stop()
		notes.Run(ctx, tick.C)
	})
	o.add(func() error { cancel(); work.Wait(); return nil })
	return &httpapi.Reminders{Service: notes, SenderKey: key.Public()}, cancel, nil
}
