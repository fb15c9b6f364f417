package app

import (
	"context"
	"errors"
	"strings"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/sample"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// found names the household and announces it with the set-up link's token.
func (a *App) found(ctx context.Context, e Event) Answer {
	d := e.Data
	start := replica.Start{Household: d.Get("household"), Zone: a.env.Zone, Member: d.Get("name"), Phone: d.Get("phone"), Setup: d.Get("setup")}
	view := screens.WelcomeView{Setup: start.Setup, HouseholdName: start.Household, OwnName: start.Member, PhoneName: start.Phone}
	if start.Household == "" || start.Member == "" || start.Phone == "" {
		view.Problem = a.t.Say.NeedName
		return a.screen("", screens.Welcome(a.t, view))
	}
	r, err := replica.Found(ctx, a.o.Main, a.o.Replica, start)
	if err != nil {
		view.Problem = a.words(err)
		return a.screen("", screens.Welcome(a.t, view))
	}
	// Without an answer the household is begun all the same: it is on this phone, and
	// the next sync announces it.
	if err := a.announce(ctx, r); err != nil && !errors.Is(err, replica.ErrOffline) {
		view.Problem = a.words(err)
		return a.screen("", screens.Welcome(a.t, view))
	}
	if err := a.moveIn(ctx, r); err != nil {
		return a.broken(err)
	}
	return Answer{Go: screens.RouteFirst}
}

// join takes up an invitation.
func (a *App) join(ctx context.Context, e Event) Answer {
	d := e.Data
	view := screens.JoinView{Invitation: d.Get("invitation"), OwnName: d.Get("name"), PhoneName: d.Get("phone")}
	fail := func(words string) Answer {
		view.Problem = words
		return a.screen("", screens.Join(a.t, view))
	}
	if view.OwnName == "" || view.PhoneName == "" {
		return fail(a.t.Say.NeedName)
	}
	inv, err := replica.ParseInvitation(view.Invitation)
	if err != nil {
		return fail(a.words(err))
	}
	r, err := a.joining(ctx, inv, replica.Start{Member: view.OwnName, Phone: view.PhoneName})
	if err != nil {
		return fail(a.words(err))
	}
	if err := a.announce(ctx, r); err != nil {
		return fail(a.words(err))
	}
	if err := a.moveIn(ctx, r); err != nil {
		return a.broken(err)
	}
	// The first sync brings the household itself; without it there is nothing to show.
	// Only then can this phone write its names, which the second one sends.
	for range 2 {
		if err := a.house.Sync(ctx, a.server); err != nil {
			return fail(a.words(err))
		}
	}
	a.useZone(ctx, a.o.Main)
	return Answer{Go: screens.RouteToday}
}

// moveIn takes up the household that this phone belongs to from now on. A sample that
// somebody looked round in before goes, or the next start would open it first.
func (a *App) moveIn(ctx context.Context, r *replica.Replica) error {
	if err := a.enter(ctx, a.o.Main, r); err != nil {
		return err
	}
	return a.o.Sample.Wipe(ctx)
}

// announce makes the server know a phone. If it will not, the phone is emptied
// again, so that the person can try with another link. Without an answer nobody
// knows what the server did, and the phone stays as it is.
func (a *App) announce(ctx context.Context, r *replica.Replica) error {
	err := r.Announce(ctx, r.Server(a.o.Transport))
	if err != nil && !errors.Is(err, replica.ErrOffline) {
		return errors.Join(err, a.o.Main.Wipe(ctx))
	}
	return err
}

// joining makes this phone a member's, or takes up a try that got no answer.
func (a *App) joining(ctx context.Context, inv replica.Invitation, s replica.Start) (*replica.Replica, error) {
	r, err := replica.Join(ctx, a.o.Main, a.o.Replica, inv, s)
	if !errors.Is(err, replica.ErrTaken) {
		return r, err
	}
	if r, old := replica.Open(ctx, a.o.Main, a.o.Replica); old == nil && r.Household() == inv.Household && r.Member().IsZero() {
		return r, nil
	}
	return nil, err
}

// openLink goes to the link that a person pasted.
func (a *App) openLink(_ context.Context, e Event) Answer {
	_, fragment, ok := strings.Cut(e.Data.Get("link"), "#")
	hash := "#" + fragment
	if !ok || !strings.HasPrefix(hash, screens.RouteJoin) && !strings.HasPrefix(hash, screens.RouteSetup) {
		return a.screen("", screens.Welcome(a.t, screens.WelcomeView{Problem: replica.ErrLink.Words}))
	}
	return Answer{Go: hash}
}

// openSample opens the sample household, making it on its first use.
func (a *App) openSample(ctx context.Context, _ Event) Answer {
	r, err := replica.Open(ctx, a.o.Sample, a.o.Replica)
	if errors.Is(err, replica.ErrNobody) {
		photo := func(ctx context.Context, name string) ([]byte, error) { return a.o.File(ctx, "/sample/"+name) }
		r, err = sample.Build(ctx, a.o.Sample, a.o.Replica, model.Instant(a.o.Replica.Wall()), a.env.Zone, photo)
	}
	if err == nil {
		err = a.enter(ctx, a.o.Sample, r)
	}
	if err != nil {
		words := a.words(err)
		if wiped := a.o.Sample.Wipe(ctx); wiped != nil {
			words = a.words(wiped)
		}
		return a.screen("", screens.Welcome(a.t, screens.WelcomeView{Problem: words}))
	}
	return Answer{Go: screens.RouteToday}
}

// leaveSample forgets the sample household in one step.
func (a *App) leaveSample(ctx context.Context, _ Event) Answer {
	if err := a.o.Sample.Wipe(ctx); err != nil {
		return Answer{Say: a.words(err)}
	}
	a.house, a.server = nil, nil
	answer := Answer{Go: screens.RouteWelcome, Say: a.t.Say.SampleLeft}
	if err := a.open(ctx, a.o.Main); err == nil {
		answer.Go = screens.RouteToday
	} else if !errors.Is(err, replica.ErrNobody) {
		return a.broken(err)
	}
	return answer
}

// invitation is an invitation that was made and is being shown.
type invitation struct {
	inv     replica.Invitation
	link    string
	role    model.Role
	expires model.Instant
}

// invite makes an invitation and waits until the server knows of it: before that
// nobody could use it.
func (a *App) invite(ctx context.Context, e Event) Answer {
	role := model.Role(e.Data.Int("role"))
	if !role.Valid() {
		role = model.Helper
	}
	fail := func(words string) Answer {
		a.still = true
		return a.screen(screens.SpotHousehold, screens.Invite(a.t, a.inviteView(role, words)))
	}
	// Asked first, so that a try without a network leaves no invitation behind.
	if err := a.house.Sync(ctx, a.server); errors.Is(err, replica.ErrOffline) {
		return fail(a.t.Invite.NeedsServer)
	}
	inv, expires, err := a.house.Invite(ctx, role, model.MemberID{})
	if err == nil {
		err = a.house.Sync(ctx, a.server)
	}
	if err != nil {
		return fail(a.words(err))
	}
	a.link = &invitation{inv: inv, link: a.env.Origin + "/" + screens.RouteJoin + inv.String(), role: role, expires: expires}
	return a.screen(screens.SpotHousehold, screens.Invite(a.t, a.inviteView(role, "")))
}

func (a *App) inviteView(role model.Role, problem string) screens.InviteView {
	v := screens.InviteView{Role: role, Problem: problem}
	a.house.Read(func(b *model.Book) { v.Household = b.Household.Name })
	if a.linkGood() && problem == "" {
		v.OnlyHere = onlyHere(a.env.Origin)
		v.Link, v.Role, v.Expires = a.link.link, a.link.role, a.t.Invite.Expires(a.clock(a.link.expires))
	}
	return v
}

// onlyHere reports whether an origin names the machine itself.
func onlyHere(origin string) bool {
	_, host, _ := strings.Cut(origin, "://")
	for _, own := range []string{"127.", "localhost", "[::1]"} {
		if strings.HasPrefix(host, own) {
			return true
		}
	}
	return false
}

// linkGood reports whether the invitation last made can still be used.
func (a *App) linkGood() bool {
	return a.link != nil && a.link.expires > a.now() && !a.house.Used(a.link.inv)
}

// Expects reports whether somebody is likely to join just now, so that asking the
// server often is worth it: the person who invites is looking at the code.
func (a *App) Expects() bool {
	return a.route == screens.RouteInvite && a.server != nil && a.linkGood()
}

func (a *App) copyLink(_ context.Context, e Event) Answer {
	return Answer{Clip: e.Data.Get("link"), Say: a.t.Say.Copied}
}
