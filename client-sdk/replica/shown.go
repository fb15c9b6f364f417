package replica

import (
	"cmp"
	"context"
	"slices"

	"leafturn/model"
)

// A photo is shown when an entry of the household refers to it. Until then it is
// somebody's draft: it stays on this phone.

// keepDrafts is how long a photo that no entry shows stays on this phone. Whoever was
// interrupted while noting a finding has a week to go on with it.
const keepDrafts = 7 * 24 * 60 * 60 * 1000

// Queue gives the photos that the server shall have and does not have yet, in the
// order in which they are sent: what is in a running outbreak first, the newest
// outbreak before the others, then the rest; the oldest photo first in each.
func (r *Replica) Queue(ctx context.Context) ([]Photo, error) {
	all, err := r.vault.Queue(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	opened := r.shown()
	queue := slices.DeleteFunc(all, func(p Photo) bool {
		_, shown := opened[p.Sum]
		return !shown
	})
	slices.SortStableFunc(queue, func(x, y Photo) int { return cmp.Compare(opened[y.Sum], opened[x.Sum]) })
	return queue, nil
}

// shown gives the photos that entries refer to, each with the day on which the newest
// running outbreak of its plant was opened, 0 if there is none.
func (r *Replica) shown() map[model.PhotoSum]model.Date {
	opened := map[model.PhotoSum]model.Date{}
	r.Read(func(b *model.Book) {
		running := map[model.PlantID]model.Date{}
		for _, o := range b.Outbreaks {
			for plant, affected := range o.Affects {
				if affected && o.Closed == 0 {
					running[plant] = max(running[plant], o.Opened)
				}
			}
		}
		b.EachPhoto(func(sum model.PhotoSum, f *model.Fact) {
			opened[sum] = max(opened[sum], running[plantOf(f.Body)])
		})
	})
	return opened
}

// plantOf is the plant that a photo shows, none for that of a card.
func plantOf(body model.Body) model.PlantID {
	switch x := body.(type) {
	case *model.Inspection:
		return x.Plant
	case *model.Measurement:
		return x.Plant
	}
	return model.PlantID{}
}

// DropDrafts forgets the photos that no entry shows and that are a week old.
func (r *Replica) DropDrafts(ctx context.Context) error {
	all, err := r.vault.Queue(ctx)
	if err != nil || len(all) == 0 {
		return err
	}
	shown := r.shown()
	for _, p := range all {
		if _, known := shown[p.Sum]; known || r.Now()-p.Added < keepDrafts {
			continue
		}
		if err := r.vault.DropPhoto(ctx, p.Sum); err != nil {
			return err
		}
	}
	return nil
}
