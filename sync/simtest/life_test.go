package simtest_test

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/household"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// The moves.

func (w *world) someWrite() error { return w.writes(w.somePhone()) }

func (w *world) writes(p *phone) error {
	body, words := w.body(p)
	w.say("%s writes %s", p.name, words)
	return p.do(body)
}

func (w *world) someWork() error {
	p := w.somePhone()
	body, words := w.work(p)
	if body == nil {
		return nil
	}
	w.say("%s %s", p.name, words)
	return p.do(body)
}

// twoWriteAtOnce lets two people name one plant in the same millisecond of their
// corrected clocks.
func (w *world) twoWriteAtOnce() error {
	p, q := w.somePhone(), w.somePhone()
	q.skew += int64(p.Now() - q.Now())
	plant := pick(w.random, plants)
	w.say("%s and %s name a plant at once", p.name, q.name)
	for i, who := range []*phone{p, q} {
		name := fmt.Sprintf("%x %d", w.random.Uint32(), i)
		if err := who.do(replica.Set(model.KindPlant, plant, replica.To(model.PlantName, model.Text(name)))); err != nil {
			return err
		}
	}
	return nil
}

// mayHappen are the faults that end a sync in bad weather, or with a server that was
// restored to a time before the phone joined.
var mayHappen = []*fault.Code{&replica.ErrOffline.Code, &replica.ErrServer.Code, &wire.ErrDamaged.Code, &oplog.ErrDamaged.Code,
	&oplog.ErrSignature.Code, &oplog.ErrTooBig.Code, &oplog.ErrStranger.Code, &errRevoked.Code, &oplog.ErrInvitation.Code, &household.ErrExpired.Code,
	&oplog.ErrRevoked.Code, &oplog.ErrUsed.Code, &oplog.ErrFork.Code, &oplog.ErrGap.Code, &oplog.ErrVersion.Code, &model.ErrInvalid.Code, &model.ErrUnknownField.Code, &household.ErrExists.Code, &household.ErrIntroduction.Code}

func (w *world) someSync() error {
	p, s := w.somePhone(), w.someServer()
	w.say("%s syncs with %s", p.name, s.name)
	err := w.sync(p, s)
	if err != nil {
		w.say("  which ends: %v", err)
		for _, code := range mayHappen {
			err = ignore(err, *code)
		}
	}
	if err == nil {
		err = w.glance(p)
	}
	return err
}

// fileIsCarried brings one phone what another knows, on a stick that may lose the
// end of it.
func (w *world) fileIsCarried() error {
	return w.hand(w.somePhone(), w.somePhone())
}

func (w *world) hand(p, q *phone) error {
	w.say("%s hands a file to %s", p.name, q.name)
	var file bytes.Buffer
	if err := w.alive(p, func() error { return p.HandOver(ctx, &file) }); err != nil {
		return err
	}
	if !w.fair && w.random.IntN(4) == 0 {
		file.Truncate(w.random.IntN(file.Len() + 1))
	}
	err := w.alive(q, func() error {
		_, err := q.TakeOver(ctx, &file)
		return err
	})
	return ignore(err, exchange.ErrFile.Code, exchange.ErrFileCut.Code)
}

// lateArrival lets a request arrive that its phone has long given up. Nobody hears
// the answer.
func (w *world) lateArrival() error {
	if len(w.air) == 0 {
		return nil
	}
	i := w.random.IntN(len(w.air))
	late := w.air[i]
	w.air = slices.Delete(w.air, i, i+1)
	w.say("a late request arrives at %s", late.to.name)
	_, err := late.to.answer(late.data)
	return ignore(err, replica.ErrOffline.Code)
}

func (w *world) timePasses() error {
	passed := []int64{hour, day, 3 * day, 30 * day}[w.random.IntN(4)]
	w.say("%d hours pass", passed/hour)
	w.now += passed
	return nil
}

func (w *world) clockIsSet() error {
	if w.random.IntN(4) == 0 {
		s := w.someServer()
		s.skew = w.between(-day, day)
		w.say("the clock of %s is set %d min off", s.name, s.skew/minute)
		return nil
	}
	p := w.somePhone()
	p.skew = w.between(-2*day, 2*day)
	w.say("the clock of %s is set %d min off", p.name, p.skew/minute)
	return nil
}

func (w *world) someoneIsCutOff() error {
	p, s := w.somePhone(), w.someServer()
	length := []int64{hour, 2 * day, 30 * day}[w.random.IntN(3)]
	p.cut[s] = w.now + length
	w.say("%s cannot reach %s for %d hours", p.name, s.name, length/hour)
	return nil
}

func (w *world) appIsKilled() error {
	p := w.somePhone()
	w.say("the app of %s is killed", p.name)
	before := p.Vector()
	if err := p.boot(); err != nil {
		return err
	}
	if !p.Vector().Covers(before) {
		return fmt.Errorf("%s lost what it knew when its app was killed", p.name)
	}
	return nil
}

func (w *world) phoneWillFail() error {
	p := w.somePhone()
	p.disk.fuse = 1 + w.random.IntN(8)
	w.say("%s will lose power", p.name)
	return nil
}

func (w *world) serverWillFail() error {
	s := w.someServer()
	if w.random.IntN(2) == 0 {
		w.say("%s loses power", s.name)
		return w.restartServer(s)
	}
	s.disk.fuse = 1 + w.random.IntN(6)
	w.say("%s will lose power", s.name)
	return nil
}

func (w *world) diskWillFail() error {
	s := w.someServer()
	s.disk.failing = true
	w.say("the disk of %s will fail once", s.name)
	return nil
}

func (w *world) snapshotIsKept() error {
	p := w.somePhone()
	w.say("%s keeps a snapshot", p.name)
	return w.alive(p, p.keepSnapshot)
}

// mostPhones bounds the household, and with it the time that a run takes.
const mostPhones = 5

func (w *world) someoneJoins() error {
	if len(w.phones) == mostPhones {
		return nil
	}
	return w.welcome(pick(w.random, []model.Role{model.Keeper, model.Helper, model.Guest}), model.MemberID{})
}

// welcome admits somebody in good weather: who joins has somebody beside them, and
// both look at their phones until it has worked.
func (w *world) welcome(role model.Role, member model.MemberID) error {
	w.calm()
	defer func() { w.fair = false }()
	return w.admit(w.phones[0], role, member)
}

// calm ends the troubles of network and disks, for a while.
func (w *world) calm() {
	w.fair = true
	for _, s := range w.servers {
		s.disk.fuse, s.disk.failing = 0, false
	}
	for _, p := range w.phones {
		p.disk.fuse = 0
	}
}

// rightsChange lets a keeper end a phone or a member, or give a member another role.
// The founder stays what the founder is, so that there is somebody who can invite.
func (w *world) rightsChange() error {
	p, q := w.somePhone(), w.phones[1+w.random.IntN(len(w.phones)-1)]
	if p == q || p.Role() != model.Keeper || q.Member().IsZero() || q.Member() == w.phones[0].Member() {
		return nil
	}
	var body any
	switch role := pick(w.random, []model.Role{model.Keeper, model.Helper, model.Guest}); w.random.IntN(4) {
	case 0:
		revoke, err := w.revoke(p, q)
		if err != nil {
			return err
		}
		body = revoke
	case 1:
		w.say("%s removes the member of %s", p.name, q.name)
		body = &oplog.Remove{Member: q.Member(), Seen: w.seenBy(p, q.Member())}
	default:
		w.say("%s gives the member of %s role %d", p.name, q.name, role)
		body = &oplog.Appoint{Member: q.Member(), Role: role, Seen: w.seenBy(p, q.Member())}
	}
	w.touched[q.Member()] = true
	return p.do(body)
}

// revoke signs off a phone, under the name that it has or one that it had. The app names
// the phones to stay that took its place since, as far as it knows them; an older one did
// not.
func (w *world) revoke(p, q *phone) (*oplog.Revoke, error) {
	st, err := p.state(func(n int) int { return n })
	if err != nil {
		return nil, err
	}
	names := slices.DeleteFunc(st.Devices(), func(d model.DeviceID) bool {
		return w.kins[d] != q.kin || st.Member(d) == w.phones[0].Member()
	})
	d := q.Device()
	if len(names) > 0 {
		d = pick(w.random, names)
	}
	w.touched[st.Member(d)] = true
	w.say("%s revokes %s as %v", p.name, q.name, d)
	body := &oplog.Revoke{Device: d, Last: p.Vector()[d]}
	if w.random.IntN(2) == 0 {
		body.Stay = st.Successors(d)
	}
	return body, nil
}

// seenBy is how far a phone knows the logs of a member's devices.
func (w *world) seenBy(p *phone, m model.MemberID) (seen []model.FactID) {
	v := p.Vector()
	for _, q := range append(w.phones, w.gone...) {
		if n := v[q.Device()]; q.Member() == m && n > 0 {
			seen = append(seen, model.FactID{Device: q.Device(), Seq: n})
		}
	}
	return seen
}

// phoneIsReinstalled wipes a phone and lets its owner join again with it. The founder's
// phone stays, because it alone can found the household on a server once more.
func (w *world) phoneIsReinstalled() error {
	i := 1 + w.random.IntN(len(w.phones)-1)
	p := w.phones[i]
	if w.touched[p.Member()] || p.Role() == 0 {
		return nil // nobody would invite them now, or nobody knows them
	}
	w.say("%s is wiped", p.name)
	w.phones = slices.Delete(w.phones, i, i+1)
	w.gone = append(w.gone, p)
	if err := w.forget(); err != nil {
		return err
	}
	return w.welcome(p.Role(), p.Member())
}

// serverIsRestored puts an earlier state of a server's disk in its place. What it
// had promised since then, it cannot keep.
func (w *world) serverIsRestored() error {
	s := w.someServer()
	return w.restore(s, w.random.IntN(len(s.disk.lasting)+1))
}

func (w *world) restore(s *server, n int) error {
	w.say("%s is restored from a backup: %d of %d writes", s.name, n, len(s.disk.lasting))
	if err := s.disk.rewind(n); err != nil {
		return err
	}
	s.boot()
	s.promised = oplog.Vector{}
	return w.forget()
}

// someoneForges hands a server what its author may not write, as a member who
// changed the app could.
func (w *world) someoneForges() error {
	p, s := w.somePhone(), w.someServer()
	b, words, err := w.smuggle(p)
	if err != nil || b == nil {
		return err
	}
	w.say("%s hands %s %s", p.name, s.name, words)
	m := &wire.Message{Household: p.Household(), Have: oplog.Vector{}, Batches: []*oplog.Batch{b}}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	_, err = s.answer(replica.Request{Path: "/exchange", Header: bearer(p.Device()), Body: data})
	return ignore(err, replica.ErrOffline.Code)
}

// smuggle makes a batch that must be refused. Its setting bears the forger's mark.
// What somebody writes whose rights were changed is not refused, because it may have
// been written before: it is in the log and does not count.
func (w *world) smuggle(p *phone) (*oplog.Batch, string, error) {
	st, err := p.state(func(n int) int { return n })
	if err != nil {
		return nil, "", err
	}
	id, err := p.disk.now.Identity(ctx)
	if err != nil {
		return nil, "", err
	}
	if w.touched[p.Member()] {
		return nil, "", nil
	}
	key, author := ed25519.NewKeyFromSeed(id.Seed), p.Device()
	body, words := w.overreach(p, st.Role(author)), "what only a keeper may write"
	switch {
	case w.random.IntN(3) == 0: // in somebody else's name
		author, body, words = pick(w.random, w.phones).Device(), forged(model.KindPlant), "something in another's name"
		if author == p.Device() {
			return nil, "", nil
		}
	case st.Role(author) == model.Keeper:
		return nil, "", nil
	}
	tail := st.Tail(author).Clone()
	before := tail.Head()
	ops, err := tail.Write(tail.Stamp()+1, body)
	if err != nil {
		return nil, "", err
	}
	b, err := tail.Seal(key, before, ops)
	return b, words, err
}

// overreach is what somebody of a role may not write.
func (w *world) overreach(p *phone, role model.Role) any {
	if role == model.Guest && w.random.IntN(2) == 0 {
		return forged(model.KindPlant)
	}
	if w.random.IntN(2) == 0 {
		return forged(model.KindHousehold)
	}
	return &oplog.Invite{Key: make([]byte, ed25519.PublicKeySize), Role: model.Keeper, Expires: model.Instant(w.now + hour)}
}

const mark = "forged"

func forged(k model.Kind) *oplog.Set {
	name := map[model.Kind]model.Field{model.KindPlant: model.PlantName, model.KindHousehold: model.HouseholdName}[k]
	return &oplog.Set{Record: model.Ref{Kind: k, ID: plants[0].UUID()}, Fields: []oplog.Setting{{Key: model.FieldKey{Field: name}, Value: model.Text(mark)}}}
}

// heal ends all trouble and lets every phone talk to every server. What the last
// phone brings has to reach the first, and a phone that a server has forgotten waits
// for the one that invited it: so it takes turns. Phones whose time has ended drop
// out before the last ones.
func (w *world) heal() error {
	w.calm()
	w.air = nil
	for turn := range turns {
		if turn == turns-5 || turn == turns-4 {
			if err := w.letBackIn(turn == turns-5 && w.random.IntN(2) == 0); err != nil {
				return err
			}
		}
		if turn == turns-2 {
			if err := w.dropEnded(); err != nil {
				return err
			}
		}
		for _, p := range w.phones {
			for _, s := range w.servers {
				w.calls = 0
				was := p.Device()
				err := w.sync(p, s)
				if turn < turns-2 {
					err = ignore(err, keptOut...)
				}
				if err != nil {
					return fmt.Errorf("%s with %s, turn %d: %w", p.name, s.name, turn, err)
				}
				most := mostCalls
				if p.Device() != was {
					most = mostCalls + 1 + mostCalls // it fetched its old log, and began again
				}
				if w.torn() && turn < turns-2 {
					most = 20 // it takes other histories of some logs
				}
				if w.calls > most || turn == turns-1 && w.calls > 1 {
					return fmt.Errorf("%s needs %d calls of %s in turn %d", p.name, w.calls, s.name, turn)
				}
			}
		}
	}
	return nil
}

// keptOut are the faults by which a server does not let a phone in, or not yet.
var keptOut = []fault.Code{oplog.ErrStranger.Code, oplog.ErrInvitation.Code, household.ErrExpired.Code, oplog.ErrRevoked.Code, oplog.ErrUsed.Code, oplog.ErrGap.Code}

// dropEnded lets phones go whose time has ended, with what only they hold.
func (w *world) dropEnded() error {
	st, err := w.phones[0].state(func(n int) int { return n })
	if err != nil {
		return err
	}
	w.phones = slices.DeleteFunc(w.phones, func(p *phone) bool {
		ended := errors.Is(st.Access(p.Device()), oplog.ErrRevoked) || p.out == oplog.ErrRevoked.Code && w.anyEnded(st, p.kin)
		if ended {
			w.gone = append(w.gone, p)
		}
		return ended
	})
	return w.forget()
}

// anyEnded reports whether a phone or a copy of it has ended: then others that go on
// from there are not let in.
func (w *world) anyEnded(st *merge.State, k *kin) bool {
	for d, of := range w.kins {
		if of == k && errors.Is(st.Access(d), oplog.ErrRevoked) {
			return true
		}
	}
	return false
}

const (
	turns     = 8
	mostCalls = 3 // of one sync
)
