package photo

import (
	"context"
	"errors"

	"leafturn/model"
)

// Scrub reads every photo of a household and gives the sums of the damaged ones,
// and how many photos it read. Another error than damage ends it early.
func Scrub(ctx context.Context, st Store, hh model.HouseholdID) (damaged []Sum, read int, err error) {
	err = st.Each(ctx, hh, func(sum Sum) error {
		_, _, err := st.Read(ctx, hh, sum)
		switch {
		case errors.Is(err, ErrDamagedAtRest):
			damaged = append(damaged, sum)
		case errors.Is(err, ErrUnknown): // deleted meanwhile
			return nil
		case err != nil:
			return err
		}
		read++
		return nil
	})
	return damaged, read, err
}
