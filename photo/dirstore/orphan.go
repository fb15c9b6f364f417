package dirstore

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"leafturn/model"
	"leafturn/photo"
)

// Grace is how long a photo stays that nothing refers to. A photo may come weeks
// before the entry that names it, when the phone is away from its network for long,
// and an entry that was taken back may be wanted again.
const Grace = 30 * 24 * time.Hour

// Orphans gives the household's photos that nothing refers to, in the order of their
// sums. It changes nothing.
func (s *Store) Orphans(ctx context.Context, hh model.HouseholdID, referenced func(photo.Sum) bool) ([]photo.Sum, error) {
	var orphans []photo.Sum
	err := s.Each(ctx, hh, func(sum photo.Sum) error {
		if !referenced(sum) {
			orphans = append(orphans, sum)
		}
		return nil
	})
	return orphans, err
}

// Tidy removes the photos that nothing has referred to for Grace, and gives their
// sums. The time counts from the first Tidy that found a photo without a reference;
// a reference, or the photo's coming in again, ends it. Run it now and then.
//
// Should an entry that names a photo come in while it is being removed, the phone that
// wrote it learns that the photo is missing, and sends it again.
func (s *Store) Tidy(ctx context.Context, hh model.HouseholdID, referenced func(photo.Sum) bool, now time.Time) (removed []photo.Sum, err error) {
	err = s.Each(ctx, hh, func(sum photo.Sum) error {
		if referenced(sum) {
			return s.tree.Remove(orphanFile(hh, sum))
		}
		since, err := s.orphanSince(hh, sum, now)
		if err != nil || now.Sub(since) < Grace {
			return err
		}
		removed = append(removed, sum)
		return s.Delete(ctx, hh, sum)
	})
	if err != nil {
		return removed, fmt.Errorf("tidy photos: %w", err)
	}
	return removed, nil
}

func orphanFile(hh model.HouseholdID, sum photo.Sum) string { return base(hh, sum) + ".orphan" }

// orphanSince reads since when a photo is an orphan. One that is not noted yet, or
// whose note cannot be read or lies in the future, is one since now.
func (s *Store) orphanSince(hh model.HouseholdID, sum photo.Sum, now time.Time) (time.Time, error) {
	b, err := s.tree.Root.ReadFile(orphanFile(hh, sum))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return now, fmt.Errorf("read since when photo %v is an orphan: %w", sum, err)
	}
	if since, err := time.Parse(time.RFC3339, string(b)); err == nil && !since.After(now) {
		return since, nil
	}
	return now, s.tree.Write(orphanFile(hh, sum), []byte(now.UTC().Format(time.RFC3339)))
}
