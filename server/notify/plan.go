package notify

import (
	"context"
	"errors"
	"slices"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/server/household"
	"leafturn/server/store"
	"leafturn/sync/hint"
	"leafturn/sync/merge"
)

// plan is what a household's phones are to be told at a moment.
type plan struct {
	clock clock
	mark  hint.Mark
	turns []*turn
}

// plan reads a household. One that the server does not know has nothing to tell.
func (s *Service) plan(ctx context.Context, r *store.Rota) (plan, error) {
	phones, err := s.Store.Phones(ctx, r.Household)
	if err != nil {
		return plan{}, err
	}
	var p plan
	err = s.Households.Glance(ctx, r.Household, func(st *merge.State) error {
		b := st.Book()
		p = plan{clock: newClock(s.now(), s.zones.of(b.Household.Zone)), mark: hint.Of(st.Heads())}
		var a *agenda.Agenda // made when the first person is there to hear of it
		for _, phone := range phones {
			t := newTurn(st, phone, p.clock.today)
			if t == nil {
				continue
			}
			if t.here && a == nil {
				a = agenda.Derive(b, p.clock.now, p.clock.zone)
			}
			if t.here {
				t.counts = count(a, b.Members[t.member])
			}
			t.told = toldOf(r.Told, phone.Device, p.clock.today)
			p.turns = append(p.turns, t)
		}
		return nil
	})
	if errors.Is(err, household.ErrUnknown) {
		return plan{clock: newClock(s.now(), s.zones.of(""))}, nil
	}
	return p, err
}

// newTurn begins a phone's turn; nil for a device that does not belong to the
// household, or no longer.
func newTurn(st *merge.State, phone store.Phone, today model.Date) *turn {
	m := st.Book().Members[st.Member(phone.Device)]
	if m == nil || st.Role(phone.Device) == 0 {
		return nil
	}
	return &turn{phone: phone, member: m.ID, hours: hoursOf(m), here: here(m, today)}
}

// here reports whether a member is to be told of anything on a day.
func here(m *model.Member, today model.Date) bool {
	away := m.AwayFrom != 0 && m.AwayFrom <= today && (m.AwayUntil == 0 || today <= m.AwayUntil)
	return !away && !ended(m, today)
}

// ended reports whether a guest's time is over.
func ended(m *model.Member, today model.Date) bool { return m.Ends != 0 && m.Ends < today }

func toldOf(all []store.Told, d model.DeviceID, day model.Date) store.Told {
	for _, t := range all {
		if t.Device == d && t.Day == day {
			return t
		}
	}
	return store.Told{Device: d, Day: day}
}

// keptDays is of how many days it is remembered what a phone was told. One would do,
// if clocks only went forward and nobody travelled.
const keptDays = 4

// settled is the rota after the plan was carried out.
func (p *plan) settled(r *store.Rota) store.Rota {
	out := store.Rota{Household: r.Household, Fence: r.Fence, Mark: string(p.mark), Told: r.Told}
	for _, t := range p.turns {
		out.Told = remember(out.Told, t.told)
		if at := t.next(p.clock); at != 0 && (out.Next == 0 || at < out.Next) {
			out.Next = at
		}
	}
	return out
}

// remember puts what a phone was told last, and forgets the days that were put
// longest ago. What was told a phone that is silent now stays, should it come back.
func remember(all []store.Told, t store.Told) []store.Told {
	if t.Said == 0 && t.Tries == 0 {
		return all
	}
	kept := 1
	out := []store.Told{t}
	for _, old := range slices.Backward(all) {
		if old.Device == t.Device {
			if old.Day == t.Day || kept == keptDays {
				continue
			}
			kept++
		}
		out = append(out, old)
	}
	slices.Reverse(out)
	return out
}
