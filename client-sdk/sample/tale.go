package sample

import (
	"cmp"
	"crypto/ed25519"
	"fmt"
	"io"
	"slices"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// who is one of the three members. Each writes on a phone of their own.
type who int

const (
	keeper who = iota // the person who looks round
	helper
	guest
	members
)

// moment is a time of day on a day counted from today; days gone by are negative.
type moment struct{ day, hour, minute int }

// event is something that happened at a moment.
type event struct {
	moment
	tell func(*tale)
}

// tale lets the members live through the past weeks. Its methods keep the first
// error and do nothing after it, so that the events read as a story.
type tale struct {
	o     replica.Options
	words *words
	zone  *time.Location
	today model.Date
	wall  int64 // the time that has been reached, Unix milliseconds

	household model.HouseholdID
	founder   ed25519.PrivateKey
	authors   [members]*author
	shared    []*oplog.Batch
	err       error

	places   [places]model.PlaceID
	plants   [plants]model.PlantID
	products [products]model.ProductID
	photos   []model.PhotoSum
	outbreak model.OutbreakID
	plan     model.PlanID
	done     map[model.TaskKey]uint32 // how often, by a key without its ordinal
}

// live tells the events in the order in which they happened. Members share what
// they wrote each night.
func (t *tale) live(events []event) error {
	slices.SortStableFunc(events, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.hour, b.hour), cmp.Compare(a.minute, b.minute))
	})
	for i, e := range events {
		if i > 0 && events[i-1].day != e.day {
			t.share()
		}
		t.reach(e.moment)
		e.tell(t)
		if t.err != nil {
			return fmt.Errorf("tell day %d: %w", e.day, t.err)
		}
	}
	t.share()
	return t.err
}

// reach moves the phones' clocks.
func (t *tale) reach(m moment) {
	y, month, d := t.today.Add(m.day).UTC().Date()
	t.wall = time.Date(y, month, d, m.hour, m.minute, 0, 0, t.zone).UnixMilli()
}

// pass lets minutes go by.
func (t *tale) pass(minutes int) { t.wall += int64(minutes) * time.Minute.Milliseconds() }

func (t *tale) now() int64 { return t.wall }

func (t *tale) at() model.Instant { return model.Instant(t.wall) }

// date is a day counted from today.
func (t *tale) date(day int) model.Date { return t.today.Add(day) }

// found makes the household, with the keeper's phone in it.
func (t *tale) found() {
	var nonce [16]byte
	if t.founder, t.err = newKey(t.o.Random); t.err != nil {
		return
	}
	if _, t.err = io.ReadFull(t.o.Random, nonce[:]); t.err != nil {
		return
	}
	t.household = model.HouseholdIDOf(publicOf(t.founder), nonce)
	t.enter(keeper, t.founder, &oplog.Found{Key: publicOf(t.founder), Nonce: nonce})
}

// join lets the keeper invite a member, whose phone joins at once.
func (t *tale) join(w who, role model.Role) {
	invitation, err := newKey(t.o.Random)
	if err != nil {
		t.err = err
		return
	}
	key, err := newKey(t.o.Random)
	if err != nil {
		t.err = err
		return
	}
	const open = 15 * time.Minute
	via := t.write(keeper, &oplog.Invite{Key: publicOf(invitation), Role: role, Expires: t.at() + model.Instant(open.Milliseconds())})
	t.share()
	t.pass(1)
	proof := ed25519.Sign(invitation, oplog.JoinBytes(t.household, publicOf(key)))
	t.enter(w, key, &oplog.Join{Key: publicOf(key), Via: via, Proof: proof})
}

// enter brings a phone into the household and lets its member name both.
func (t *tale) enter(w who, key ed25519.PrivateKey, first any) {
	if t.err != nil {
		return
	}
	a := newAuthor(t.household, key, t.now)
	if t.err = a.take(t.shared...); t.err != nil {
		return
	}
	b, err := a.enter(first)
	if err != nil {
		t.err = err
		return
	}
	t.authors[w] = a
	t.spread(b)
	t.write(w, replica.Set(model.KindMember, a.state.Member(a.device), replica.To(model.MemberName, model.Text(t.words.members[w]))))
	t.write(w, replica.Set(model.KindDevice, a.device, replica.To(model.DeviceName, model.Text(t.words.phones[w]))))
}

// write adds operations to a member's log.
func (t *tale) write(w who, bodies ...any) model.FactID {
	if t.err != nil {
		return model.FactID{}
	}
	id, err := t.authors[w].write(bodies...)
	t.err = err
	return id
}

// did writes a fact that happens now.
func (t *tale) did(w who, body model.Body) model.FactID {
	if t.err != nil {
		return model.FactID{}
	}
	a := t.authors[w]
	return t.write(w, &model.Fact{At: t.at(), By: a.state.Member(a.device), Body: body})
}

// next is the key of the next task of a rule, and counts it as done.
func (t *tale) next(r model.Rule, subject [16]byte) model.TaskKey {
	key := model.TaskKey{Rule: r, Subject: subject}
	t.done[key]++
	key.Ordinal = t.done[key]
	return key
}

// share lets everybody know what everybody wrote.
func (t *tale) share() {
	for _, a := range t.authors {
		if a == nil || t.err != nil {
			continue
		}
		b, err := a.seal()
		if t.err = err; b != nil {
			t.spread(b)
		}
	}
}

func (t *tale) spread(b *oplog.Batch) {
	t.shared = append(t.shared, b)
	for _, a := range t.authors {
		if a != nil && a.device != b.Device && t.err == nil {
			t.err = a.take(b)
		}
	}
}
