package simtest_test

import (
	"fmt"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/server/household"
	"leafturn/sync/oplog"
)

// Invitations that do not do what they were meant for: two take the same, each by a
// server that does not know of the other yet; or nobody is left who knows that one was
// used in time.

// twoTakeOneInvitation lets two phones join by one invitation, over different servers if
// there are two. Nobody else hears of either for the moment.
func (w *world) twoTakeOneInvitation() error {
	if len(w.phones)+2 > mostCopies {
		return nil
	}
	w.calm()
	defer func() { w.fair = false }()
	by := w.phones[0]
	if err := w.settle(by); err != nil {
		return err
	}
	i, _, err := by.Invite(ctx, pick(w.random, []model.Role{model.Keeper, model.Helper, model.Guest}), model.MemberID{})
	if err != nil {
		return err
	}
	for _, s := range w.servers {
		if err := w.sync(by, s); err != nil {
			return err
		}
	}
	if by.Device() != i.Op.Device {
		return nil // it gave up the history that it had invited in: nobody can join by that
	}
	for _, s := range []*server{w.servers[0], w.servers[len(w.servers)-1]} {
		p, err := w.newcomer(i)
		if err != nil {
			return err
		}
		if err := ignore(w.sync(p, s), oplog.ErrUsed.Code, household.ErrExpired.Code); err != nil {
			return err
		}
	}
	return nil
}

// letBackIn lets phones in that servers keep out although nobody ended their rights. What
// let them in is not known to any replica any more that is let in itself. An invitation
// that has run out was in time when it was used, and a member who gets the phone's log by
// a file can say so.
func (w *world) letBackIn(files bool) error {
	for _, p := range w.phones {
		switch p.out {
		case household.ErrExpired.Code:
			if files {
				if err := w.hand(p, w.phones[0]); err != nil {
					return err
				}
				continue
			}
			fallthrough
		case oplog.ErrUsed.Code, oplog.ErrInvitation.Code, oplog.ErrStranger.Code, oplog.ErrGap.Code:
			if err := w.comeBack(p); err != nil {
				return fmt.Errorf("%s comes back: %w", p.name, err)
			}
		}
	}
	return nil
}

// comeBack lets a phone join once more, as a new member, and bring what it has.
func (w *world) comeBack(p *phone) error {
	keeper := w.phones[0]
	if err := w.settle(keeper); err != nil {
		return err
	}
	i, _, err := keeper.Invite(ctx, model.Helper, model.MemberID{})
	if err != nil {
		return err
	}
	if err := w.sync(keeper, w.servers[0]); err != nil {
		return err
	}
	w.say("%s comes back by a new invitation", p.name)
	p.kin.torn = true
	ahead := w.random.IntN(2) == 0
	if ahead {
		w.say("  with a clock an hour ahead, which is set right meanwhile")
		p.skew += hour
		if err := p.do(replica.Seen(&model.Inspection{Plant: plants[0], Note: "early"})); err != nil {
			return err
		}
	}
	if err := p.Rejoin(ctx, p.server(w.servers[0]), i); err != nil {
		return err
	}
	w.kins[p.Device()] = p.kin
	if ahead {
		p.skew -= hour
		if err := p.boot(); err != nil {
			return err
		}
	}
	// It writes what it brings, and goes on, and sends it before a copy of it comes back.
	for range 2 {
		if err := ignore(w.sync(p, w.servers[0]), keptOut...); err != nil {
			return err
		}
		if err := p.do(replica.Seen(&model.Inspection{Plant: plants[0], Note: "back again"})); err != nil {
			return err
		}
	}
	return nil
}
