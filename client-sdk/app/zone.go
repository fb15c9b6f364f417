package app

import (
	"context"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

const keptZone = "zone:"

// useZone finds the rules of the household's zone: on this phone, else from the
// server. Without either, days are counted with the phone's present offset, which
// is right until the clocks change.
func (a *App) useZone(ctx context.Context, v replica.Vault) {
	name := ""
	a.house.Read(func(b *model.Book) { name = b.Household.Zone })
	a.zone = time.FixedZone(a.env.Zone, a.env.East)
	if name == "" {
		return
	}
	rules, err := v.Kept(ctx, keptZone+name)
	if err != nil || rules == nil {
		if rules, err = replica.Zone(ctx, a.o.Transport, name); err != nil {
			return
		}
		// Without it the next start asks the server again; nothing else is lost.
		_ = v.Keep(ctx, keptZone+name, rules)
	}
	if zone, err := time.LoadLocationFromTZData(name, rules); err == nil {
		a.zone = zone
	}
}
