// Package verify reads all that a server keeps of a household and says what is wrong.
//
// Entries: every batch is read back, its chain and signatures are checked, and the
// whole is folded anew. Photos: every one is read and hashed; one that is damaged is
// set aside, so that a phone which still has it sends it again. A photo that an entry
// shows and that is not here is missing: a phone may still hold it. A photo that no
// entry shows is an orphan: its entry may still be on its way.
package verify

import (
	"context"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/sync/merge"
)

// Logs gives the state of households, folded from what is on the disk.
type Logs interface {
	Look(ctx context.Context, h model.HouseholdID, f func(*merge.State) error) error
}

// Photos is where photos are kept.
type Photos interface {
	photo.Store
	Orphans(ctx context.Context, hh model.HouseholdID, referenced func(photo.Sum) bool) ([]photo.Sum, error)
}

// Report is what was found of a household.
type Report struct {
	Household model.HouseholdID
	Entries   uint64 // operations of all devices
	Photos    int    // photos read
	Damaged   []photo.Sum
	Missing   []photo.Sum
	Orphans   []photo.Sum
	Err       error // what kept the check from going on; damage in the logs is one
}

// Sound reports whether nothing is lost: orphans are no damage.
func (r *Report) Sound() bool { return r.Err == nil && len(r.Damaged) == 0 && len(r.Missing) == 0 }

// Household checks one household.
func Household(ctx context.Context, logs Logs, photos Photos, h model.HouseholdID) Report {
	r := Report{Household: h}
	shown, err := Shown(ctx, logs, h, func(s *merge.State) {
		for _, seq := range s.Vector() {
			r.Entries += seq
		}
	})
	if err != nil {
		r.Err = err
		return r
	}
	if r.Damaged, r.Photos, r.Err = photo.Scrub(ctx, photos, h); r.Err != nil {
		return r
	}
	if r.Missing, r.Err = photo.Missing(ctx, photos, h, shown.order); r.Err != nil {
		return r
	}
	r.Orphans, r.Err = photos.Orphans(ctx, h, shown.Has)
	return r
}

// Sums are the photos that a household's entries show.
type Sums struct {
	order []photo.Sum
	has   map[photo.Sum]bool
}

// Has reports whether an entry shows the photo.
func (s *Sums) Has(sum photo.Sum) bool { return s.has[sum] }

// Shown reads which photos a household's entries show. also may look at the state.
func Shown(ctx context.Context, logs Logs, h model.HouseholdID, also func(*merge.State)) (*Sums, error) {
	sums := &Sums{has: map[photo.Sum]bool{}}
	err := logs.Look(ctx, h, func(s *merge.State) error {
		s.Book().EachPhoto(func(p model.PhotoSum, _ *model.Fact) {
			if sum := photo.Sum(p); !sums.has[sum] {
				sums.has[sum] = true
				sums.order = append(sums.order, sum)
			}
		})
		if also != nil {
			also(s)
		}
		return nil
	})
	return sums, err
}
