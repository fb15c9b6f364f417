package simtest_test

import (
	"fmt"
	"slices"
)

// Phones that write under one name. A copy of a phone's disk has its key, and so has
// the phone itself whose disk was set back: it writes once more under numbers that it
// has used.
//
// Both come in households with one server only. That says which of two histories of a
// log is the log; with two servers each keeps the one that it sees first.

// mostCopies bounds the household, copies of phones included.
const mostCopies = mostPhones + 2

func (w *world) phoneIsCopied() error {
	if len(w.servers) > 1 || len(w.phones) >= mostCopies {
		return nil
	}
	p := w.somePhone()
	q := w.newPhone(fmt.Sprintf("phone %d", len(w.phones)+len(w.gone)))
	w.say("%s is a copy of %s", q.name, p.name)
	q.kin, q.disk.lasting = p.kin, slices.Clone(p.disk.lasting)
	p.kin.torn = true
	if err := q.disk.replay(); err != nil {
		return err
	}
	w.phones = append(w.phones, q)
	return q.boot()
}

// phoneIsSetBack puts an earlier state of a phone's disk in its place.
func (w *world) phoneIsSetBack() error {
	if len(w.servers) > 1 {
		return nil
	}
	p := w.somePhone()
	return w.setBack(p, 1+w.random.IntN(len(p.disk.lasting)))
}

func (w *world) setBack(p *phone, n int) error {
	w.say("%s is set back: %d of %d writes", p.name, n, len(p.disk.lasting))
	p.kin.torn = true
	clear(p.told)
	if err := p.disk.rewind(n); err != nil {
		return err
	}
	if err := p.boot(); err != nil {
		return err
	}
	return w.forget()
}

// historyIsGivenUp puts a phone back to what it was, and it goes on otherwise. What it had
// written meanwhile it handed to one other phone: nobody else can bring that back.
func (w *world) historyIsGivenUp() error {
	p, q, s := w.somePhone(), w.somePhone(), w.servers[0]
	if len(w.servers) > 1 || p == q {
		return nil
	}
	w.calm()
	defer func() { w.fair = false }()
	n := len(p.disk.lasting)
	if err := w.writes(p); err != nil {
		return err
	}
	if err := w.hand(p, q); err != nil {
		return err
	}
	if err := w.setBack(p, n); err != nil {
		return err
	}
	if err := w.writes(p); err != nil {
		return err
	}
	return ignore(w.sync(p, s), keptOut...)
}
