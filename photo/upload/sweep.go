package upload

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"leafturn/model"
)

// admit checks that the household may have one more incomplete upload. Expired
// ones are swept out first when they stand in the way. The caller holds the
// creators' lock.
func (d *Desk) admit(hh model.HouseholdID) error {
	names, err := d.names(hh.String())
	if err != nil {
		return err
	}
	if countOpen(names) < d.limits.Open {
		return nil
	}
	if _, err := d.sweepHousehold(context.Background(), hh, names); err != nil {
		return err
	}
	if names, err = d.names(hh.String()); err != nil {
		return err
	}
	if countOpen(names) >= d.limits.Open {
		return ErrTooMany
	}
	return nil
}

// countOpen counts uploads that still hold data.
func countOpen(names []string) (n int) {
	for _, name := range names {
		if strings.HasSuffix(name, dataExt) {
			n++
		}
	}
	return n
}

// names lists a folder; one that does not exist is empty.
func (d *Desk) names(dir string) ([]string, error) {
	entries, err := fs.ReadDir(d.tree.Root.FS(), dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("list uploads: %w", err)
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names, nil
}

// Sweep removes expired uploads and what interrupted ones left behind, and gives
// how many uploads it removed. Run it now and then, such as once an hour.
func (d *Desk) Sweep(ctx context.Context) (removed int, err error) {
	households, err := d.names(".")
	if err != nil {
		return 0, err
	}
	for _, name := range households {
		hh, err := model.ParseID[model.Household](name)
		if err != nil {
			continue // the folder of temporary files
		}
		n, err := d.sweepCreated(ctx, hh)
		removed += n
		if err != nil {
			return removed, fmt.Errorf("sweep uploads: %w", err)
		}
	}
	return removed, nil
}

// sweepCreated sweeps a household while nobody creates: a new upload's files
// appear one by one and would look left behind.
func (d *Desk) sweepCreated(ctx context.Context, hh model.HouseholdID) (int, error) {
	unlock, err := d.locks.lock(ctx, key{hh: hh})
	if err != nil {
		return 0, err
	}
	defer unlock()
	names, err := d.names(hh.String())
	if err != nil {
		return 0, err
	}
	return d.sweepHousehold(ctx, hh, names)
}

func (d *Desk) sweepHousehold(ctx context.Context, hh model.HouseholdID, names []string) (removed int, err error) {
	seen := map[ID]bool{}
	for _, name := range names {
		text, _, _ := strings.Cut(name, ".")
		id, err := ParseID(text)
		if err != nil || seen[id] {
			continue
		}
		seen[id] = true
		gone, err := d.sweepOne(ctx, hh, id)
		if err != nil {
			return removed, err
		}
		if gone {
			removed++
		}
	}
	return removed, nil
}

func (d *Desk) sweepOne(ctx context.Context, hh model.HouseholdID, id ID) (removed bool, err error) {
	unlock, err := d.locks.lock(ctx, key{hh, id})
	if err != nil {
		return false, err
	}
	defer unlock()
	_, err = d.read(hh, id)
	if errors.Is(err, ErrUnknown) || errors.Is(err, ErrExpired) {
		return true, d.remove(hh, id)
	}
	return false, err
}
