package replica

import (
	"context"
	"encoding/binary"
	"slices"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Status says where the data of this phone is, as the server told that it talked to
// last.
type Status struct {
	Unsent  int           // own operations that the server has not acknowledged
	Shared  model.Instant // when a server last had all of them, 0 for never
	Trouble *fault.Fault  // why the last Sync failed, nil if it did not
	Blocked *fault.Fault  // why the server refuses this phone's log, nil if it does not
	// Unread is why this phone cannot take in what others wrote, such as by a newer
	// version; nil if it can. All else is taken in.
	Unread *fault.Fault
	// Restored is set when it turned out that the server does not remember what it had
	// said: it was restored from a backup. The phones bring it up to date, and are asked
	// again for their photos. It stays until ForgetRestored.
	Restored bool
	Moved    *Move // this phone writes under another key since, nil after ForgetMove
	Offset   int64 // milliseconds that the phone's own clock is behind the server's, as last told

	acked uint64 // the server has this much of the own log, and it is what we wrote
}

// Status says where the data of this phone is.
func (r *Replica) Status() Status {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := r.status
	s.Offset = r.clock.Offset()
	if head := r.state.Tail(r.device).Head().Seq; head > s.acked {
		s.Unsent = int(head - s.acked)
	}
	return s
}

// contact is what one store has told this phone. It is not changed once it turned out
// that the store forgot it: another takes its place.
type contact struct {
	_     struct{} `cbor:",toarray"`
	Epoch wire.Epoch
	Told  []told // how far it had each log; of this phone's own, what it acknowledged
	Lost  bool   // it has forgotten what it told under this epoch, and has to hear of it
	Asked bool   // it was asked since about every photo that it may have forgotten
}

type told struct {
	_      struct{} `cbor:",toarray"`
	Device model.DeviceID
	Seq    uint64
}

// of is how far the store had a log.
func (c *contact) of(d model.DeviceID) uint64 {
	for _, t := range c.Told {
		if t.Device == d {
			return t.Seq
		}
	}
	return 0
}

// forgot reports whether a store has less than it had told. It never gives up what it
// acknowledged, so it was put back to an earlier state.
func (c *contact) forgot(have oplog.Vector) bool {
	return slices.ContainsFunc(c.Told, func(t told) bool { return have[t.Device] < t.Seq })
}

// mostStores is how many stores a phone remembers: its household's, and a few that it
// used to have.
const mostStores = 4

// meet finds out which store an answer comes from, and whether it still knows what it
// had told this phone. What it has forgotten is not counted on any more. Perhaps it has
// all of it again: a phone that it did not know any more introduced itself by that.
func (r *Replica) meet(ctx context.Context, s *Server, in *wire.Message) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	c := r.takeContact(in.Epoch)
	forgot := c.forgot(in.Have) || s.stranger && c.of(r.device) > 0
	s.stranger = false
	restored := forgot || c.Epoch != in.Epoch
	if restored {
		c = &contact{Epoch: in.Epoch, Lost: forgot && c.Epoch == in.Epoch}
	}
	r.contacts = slices.Insert(r.contacts, 0, c)
	r.contacts = r.contacts[:min(len(r.contacts), mostStores)]
	r.status.acked = c.of(r.device)
	if !restored {
		return nil
	}
	r.status.Restored = true
	if err := r.vault.Keep(ctx, keptRestored, []byte{1}); err != nil {
		return err
	}
	return r.keepContacts(ctx) // at once: a phone that is killed now must not forget it
}

// keptRestored is there while nobody has read that the server was restored. Phones sync
// by themselves, so who looks only now and then would never see what only the last Sync
// said.
const keptRestored = "restored"

// ForgetRestored says that the person has read that the server was restored.
func (r *Replica) ForgetRestored(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.vault.Keep(ctx, keptRestored, nil); err != nil {
		return err
	}
	r.status.Restored = false
	return nil
}

// takeContact takes the contact with a store out of those that are known, a new one if
// there is none. A server that had no epoch yet is the one that has one now.
func (r *Replica) takeContact(e wire.Epoch) *contact {
	for i, c := range r.contacts {
		if c.Epoch.IsZero() {
			c.Epoch = e
		}
		if c.Epoch.Store == e.Store {
			r.contacts = slices.Delete(r.contacts, i, i+1)
			return c
		}
	}
	return &contact{Epoch: e, Asked: len(r.contacts) == 0} // the first one has nothing to forget
}

// contact is what the store told that was met last, nil if none was.
func (r *Replica) contact() *contact {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.contacts) == 0 {
		return nil
	}
	return r.contacts[0]
}

// lost is the epoch of a store that has to hear that it was restored, zero if none has.
func (r *Replica) lost() wire.Epoch {
	if c := r.contact(); c != nil && c.Lost {
		return c.Epoch
	}
	return wire.Epoch{}
}

// acknowledge notes how far the server has this phone's log: as far as it says, if what
// it has is what this phone wrote.
func (r *Replica) acknowledge(ctx context.Context, in *wire.Message) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	have := in.Have[r.device]
	r.status.acked = min(r.status.acked, have)
	stub, said := in.Stubs[r.device]
	if !said || have == 0 || have > r.sealed.Seq {
		return nil
	}
	hash := r.sealed.Hash
	if have < r.sealed.Seq {
		var err error
		if hash, err = oplog.HashAt(ctx, r.vault, r.device, have); err != nil {
			return err
		}
	}
	if wire.StubOf(hash) == stub {
		r.status.acked = have
	}
	return nil
}

// distrust is how a phone acknowledges what a server says that gives no stubs: as far
// as it says, but no further than what was sent to it and not refused. If it says more,
// perhaps the answer to an earlier push was lost; but a copy of this phone may also have
// written other operations under the same numbers. So the rest is sent again, and the
// server compares.
func (r *Replica) distrust(out, in *wire.Message) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, said := in.Stubs[r.device]; said {
		return
	}
	sent := r.status.acked
	for _, b := range out.Batches {
		if b.Device == r.device {
			sent = b.Last()
		}
	}
	if slices.ContainsFunc(in.Refused, func(x wire.Refused) bool { return x.Device == r.device }) {
		sent = r.status.acked
	}
	r.status.acked = min(sent, in.Have[r.device])
	if r.sealed.Seq > r.status.acked {
		in.Have[r.device] = r.status.acked
	}
}

// settle remembers what the server has told.
func (r *Replica) settle(ctx context.Context, p *exchange.Peer) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status.Blocked = nil
	if b, ok := p.Blocked()[r.device]; ok {
		r.status.Blocked = saidBy(b.Code, b.Words)
	}
	r.status.Unread, r.forks = r.unread(p), r.forksOf(p)
	if r.status.acked >= r.sealed.Seq {
		r.status.Shared = model.Instant(r.clock.Wall())
	}
	c := r.contacts[0] // it has just been met
	c.Told = nil
	for _, d := range p.Theirs().Devices() {
		seq := p.Theirs()[d]
		if d == r.device {
			seq = r.status.acked
		}
		c.Told = append(c.Told, told{Device: d, Seq: seq})
	}
	return r.keepContacts(ctx)
}

// unread is why the first log that this phone cannot take in is not taken in.
func (r *Replica) unread(p *exchange.Peer) *fault.Fault {
	for _, d := range p.Theirs().Devices() {
		if x, ok := p.Declined()[d]; ok && d != r.device {
			return fault.New(x.Code, x.Words)
		}
	}
	return nil
}

// keptContacts is what stores have told, the last one first. keptContact is what was
// kept in its place before a store had an epoch, 8 bytes each: the acknowledged
// operations, the moment of Status.Shared, and how far the clock is off.
const (
	keptContacts = "contacts"
	keptContact  = "contact"
)

type contactsKept struct {
	_      struct{} `cbor:",toarray"`
	Shared int64
	Offset int64
	Stores []*contact
}

// keepContacts is for those who hold mu.
func (r *Replica) keepContacts(ctx context.Context) error {
	data, err := cbor.Marshal(contactsKept{Shared: int64(r.status.Shared), Offset: r.clock.Offset(), Stores: r.contacts})
	if err != nil {
		return err
	}
	return r.vault.Keep(ctx, keptContacts, data)
}

func (r *Replica) loadContacts(ctx context.Context) error {
	data, err := r.vault.Kept(ctx, keptContacts)
	if err != nil {
		return err
	}
	var k contactsKept
	if data == nil {
		if k, err = r.oldContact(ctx); err != nil {
			return err
		}
	} else if cbor.Unmarshal(data, &k) != nil || slices.Contains(k.Stores, nil) {
		k = contactsKept{} // what was told is asked again, which costs time and nothing else
	}
	restored, err := r.vault.Kept(ctx, keptRestored)
	if err != nil {
		return err
	}
	r.status.Restored = restored != nil
	r.status.Shared = model.Instant(k.Shared)
	r.clock.Correct(k.Offset)
	if r.contacts = k.Stores; len(k.Stores) > 0 {
		r.status.acked = k.Stores[0].of(r.device)
	}
	return nil
}

// oldContact reads what was kept by a version that knew one server.
func (r *Replica) oldContact(ctx context.Context) (k contactsKept, err error) {
	b, err := r.vault.Kept(ctx, keptContact)
	if err != nil || len(b) != 24 {
		return k, err
	}
	acked := told{Device: r.device, Seq: binary.BigEndian.Uint64(b)}
	k = contactsKept{Shared: int64(binary.BigEndian.Uint64(b[8:])), Offset: int64(binary.BigEndian.Uint64(b[16:]))}
	k.Stores = []*contact{{Told: []told{acked}, Asked: true}}
	return k, nil
}
