// Package sample invents a household to look round in.
//
// The household is made up from first to last: three members, fourteen plants in
// four places and one that was thrown out, and an outbreak of thrips three weeks old.
// A first course of soap did too little; with the second one the counts fall, and its
// next spray is due tomorrow. Every date in it counts from the day on which it is
// built, so it never looks old.
//
// What was counted is set so that the forecast of the app, whose figures are not bent
// for it, sees a fight that is being won, and finds plans that end it.
//
// It is made the way a real one comes about. Each member has a phone that writes a
// log of its own and shares it with the others; the phones' clocks are led through
// the past weeks in memory. Then all logs go into one vault, whose owner is the
// first keeper. The household is local: no server ever hears of it, and wiping the
// vault removes it without a trace.
//
// The words of the household stand in one table, so that another language is
// another table. Product labels in it are invented; their figures are no advice.
package sample

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/photo/exif"
)

// pictures are the files of the photos, from the most to the least damaged leaf.
var pictures = []string{"leaf-1.jpg", "leaf-2.jpg", "leaf-3.jpg", "leaf-4.jpg", "leaf-5.jpg"}

// Build fills an empty vault with the sample household, as it would be at the moment
// now in the zone with this IANA name, and opens it as the first keeper. Photos fetches a
// picture by its file name. The same randomness, ids, moment and zone give the same
// household. If it cannot be kept whole the vault is left empty; a vault that is not
// empty is left alone, with replica.ErrTaken.
func Build(ctx context.Context, vault replica.Vault, o replica.Options, now model.Instant, zone string, photos func(ctx context.Context, name string) ([]byte, error)) (*replica.Replica, error) {
	id, err := vault.Identity(ctx)
	if err != nil {
		return nil, err
	}
	if id != nil {
		return nil, replica.ErrTaken
	}
	kept, err := fetch(ctx, photos, now)
	if err != nil {
		return nil, err
	}
	t, err := imagine(o, now, zone, &english, kept)
	if err != nil {
		return nil, err
	}
	id = &replica.Identity{Household: t.household, Seed: t.founder.Seed(), Local: true}
	if err := vault.Begin(ctx, replica.Beginning{Identity: *id, First: t.shared[0]}); err != nil {
		return nil, err
	}
	if err := keep(ctx, vault, t, kept); err != nil {
		// The vault is ours by now; it must be emptied even if nobody waits any more.
		return nil, errors.Join(err, vault.Wipe(context.WithoutCancel(ctx)))
	}
	return replica.Open(ctx, vault, o)
}

// picture is a photo with its bytes. It is marked as sent, because there is nobody
// to send it to.
type picture struct {
	replica.Photo
	data []byte
}

// fetch gets the pictures before anything is kept: it is the step that may need a
// network. They are stripped like any photo, which names them by what is kept.
func fetch(ctx context.Context, photos func(ctx context.Context, name string) ([]byte, error), now model.Instant) ([]picture, error) {
	out := make([]picture, len(pictures))
	for i, name := range pictures {
		data, err := photos(ctx, name)
		if err != nil {
			return nil, fmt.Errorf("fetch sample photo %s: %w", name, err)
		}
		clean, err := exif.Strip(data)
		if err != nil {
			return nil, fmt.Errorf("read sample photo %s: %w", name, err)
		}
		p := replica.Photo{Sum: sha256.Sum256(clean.Kept), Type: clean.Type.MIME(), Bytes: len(clean.Kept), Added: now, Sent: true}
		out[i] = picture{Photo: p, data: clean.Kept}
	}
	return out, nil
}

// imagine tells the whole tale.
func imagine(o replica.Options, now model.Instant, zone string, w *words, kept []picture) (*tale, error) {
	where := location(zone)
	t := &tale{o: o, words: w, zone: where, today: now.Date(where), done: map[model.TaskKey]uint32{}}
	for _, p := range kept {
		t.photos = append(t.photos, p.Sum)
	}
	var events []event
	events = append(events, moving(zone)...)
	events = append(events, visiting()...)
	events = append(events, fighting()...)
	events = append(events, living()...)
	return t, t.live(events)
}

// location is the zone. A browser has no zone rules of its own, so there it is the
// offset of the phone: all that happens in the tale happens by day, so that an hour
// more or less changes no date.
func location(zone string) *time.Location {
	l, err := time.LoadLocation(zone)
	if err != nil {
		return time.Local
	}
	return l
}

// keep puts the tale into the vault. The log comes first: a log without its photos
// can be looked round in, photos without a log cannot.
func keep(ctx context.Context, vault replica.Vault, t *tale, kept []picture) error {
	if err := vault.Append(ctx, t.shared); err != nil {
		return err
	}
	for _, p := range kept {
		if err := vault.PutPhoto(ctx, p.Photo, p.data); err != nil {
			return err
		}
	}
	return nil
}
