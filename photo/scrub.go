package photo

import (
	"context"
	"errors"
	"fmt"

	"leafturn/model"
)

// Scrub reads every photo of a household, sets the damaged ones aside, and gives
// their sums and how many photos it read. From then on they count as missing, so a
// phone that still has one sends it again; see Missing. Another error than damage
// ends it early.
func Scrub(ctx context.Context, st Store, hh model.HouseholdID) (damaged []Sum, read int, err error) {
	err = st.Each(ctx, hh, func(sum Sum) error {
		_, _, err := st.Read(ctx, hh, sum)
		switch {
		case errors.Is(err, ErrDamagedAtRest):
			damaged = append(damaged, sum)
			err = st.SetAside(ctx, hh, sum)
		case errors.Is(err, ErrUnknown): // deleted meanwhile
			return nil
		}
		read++
		return err
	})
	return damaged, read, err
}

// Missing gives those of the sums, in their order, that the household has no photo
// under. A phone asks about the photos it sent, to send again what a server that was
// set back, or whose disk failed, has lost.
func Missing(ctx context.Context, st Store, hh model.HouseholdID, sums []Sum) ([]Sum, error) {
	var missing []Sum
	for _, sum := range sums {
		there, err := st.Has(ctx, hh, sum)
		if err != nil {
			return nil, fmt.Errorf("look for photo %v: %w", sum, err)
		}
		if !there {
			missing = append(missing, sum)
		}
	}
	return missing, nil
}
