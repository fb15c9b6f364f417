package badgerdb

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"

	"github.com/dgraph-io/badger/v4"
	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/server/store"
)

// The values of rows. The numbers are on disk: do not reorder or reuse them.
type (
	phone struct {
		Endpoint string `cbor:"1,keyasint"`
		Key      []byte `cbor:"2,keyasint"`
		Secret   []byte `cbor:"3,keyasint"`
	}
	feed struct {
		Household model.HouseholdID `cbor:"1,keyasint"`
		Member    model.MemberID    `cbor:"2,keyasint"`
	}
	rota struct {
		Next    model.Instant `cbor:"1,keyasint,omitempty"` // while it is claimed: when the lease ends
		Fence   uint64        `cbor:"2,keyasint,omitempty"`
		Claimed bool          `cbor:"3,keyasint,omitempty"`
		Woken   model.Instant `cbor:"4,keyasint,omitempty"` // while it was claimed
		Mark    string        `cbor:"5,keyasint,omitempty"`
		Told    []told        `cbor:"6,keyasint,omitempty"`
	}
	told struct {
		Device model.DeviceID `cbor:"1,keyasint"`
		Day    model.Date     `cbor:"2,keyasint"`
		Said   uint8          `cbor:"3,keyasint,omitempty"`
		Tries  int            `cbor:"4,keyasint,omitempty"`
		Again  model.Instant  `cbor:"5,keyasint,omitempty"`
		Shown  int            `cbor:"6,keyasint,omitempty"`
	}
)

// earlier is the earlier of two moments, of which 0 is no moment.
func earlier(a, b model.Instant) model.Instant {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

func (r *rota) wake(at model.Instant) {
	if r.Claimed && r.Next-at > model.Instant(store.LongestLease.Milliseconds()) {
		r.Claimed, r.Next = false, at // the clock was wrong when it was claimed
	}
	if r.Claimed {
		r.Woken = earlier(r.Woken, at)
		return
	}
	r.Next = earlier(r.Next, at)
}

func (r *rota) asStored(h model.HouseholdID) store.Rota {
	out := store.Rota{Household: h, Next: r.Next, Fence: r.Fence, Mark: r.Mark}
	for _, t := range r.Told {
		out.Told = append(out.Told, store.Told(t))
	}
	return out
}

// rotaRows is what changes when a rota does: the rota, and its place among those
// that are due.
func (g *group) rotaRows(h model.HouseholdID, before, after rota) ([]row, func()) {
	rows := []row{packed(rotaKey(h), after)}
	if before.Next != 0 && before.Next != after.Next {
		rows = append(rows, row{key: dueKey(before.Next, h)})
	}
	if after.Next != 0 {
		key := dueKey(after.Next, h)
		rows = append(rows, row{key, sealed(key, nil)})
	}
	return rows, func() {
		if after.Next != 0 {
			g.db.earliest = g.db.earliest.orBefore(dueAt{after.Next, h})
		}
	}
}

// Wake lets a household be claimed. That there is no rota is found without the
// committer, because most changes are in households that nobody wants reminded.
func (d *DB) Wake(ctx context.Context, h model.HouseholdID, at model.Instant) error {
	var known *rota
	err := d.view(ctx, func(txn *badger.Txn) (err error) {
		known, err = d.rotaOf(txn, h)
		return err
	})
	if err != nil || known == nil {
		return err
	}
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		r, err := d.rotaOf(g.txn, h)
		if err != nil || r == nil {
			return nil, nil, err
		}
		before := *r
		r.wake(at)
		rows, taken := g.rotaRows(h, before, *r)
		return rows, taken, nil
	})
}

// Claim takes rotas that are due.
func (d *DB) Claim(ctx context.Context, now, leaseEnds model.Instant, most int) (out []store.Rota, err error) {
	err = d.write(ctx, func(g *group) ([]row, func(), error) {
		out = nil
		due, first, err := g.due(now, most)
		if err != nil {
			return nil, nil, err
		}
		rows, takens := []row(nil), []func(){}
		for _, h := range due {
			r, err := d.rotaOf(g.txn, h.household)
			if err != nil {
				return nil, nil, err
			}
			if r == nil || r.Next != 0 && r.Next != h.at { // left over by damage
				rows = append(rows, row{key: dueKey(h.at, h.household)})
				continue
			}
			before := *r
			r.Next, r.Claimed, r.Fence, r.Woken = leaseEnds, true, r.Fence+1, 0
			more, taken := g.rotaRows(h.household, before, *r)
			rows, takens = append(rows, more...), append(takens, taken)
			out = append(out, r.asStored(h.household))
		}
		return rows, func() {
			g.db.earliest = first
			for _, taken := range takens {
				taken()
			}
		}, nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// dueAt is a place among the rotas that are due.
type dueAt struct {
	at        model.Instant
	household model.HouseholdID
}

// orBefore is the one of two places that comes first.
func (d dueAt) orBefore(other dueAt) dueAt {
	if cmp.Or(cmp.Compare(other.at, d.at), model.CompareIDs(other.household, d.household)) < 0 {
		return other
	}
	return d
}

// due finds rotas that are due, and a place before which none is but those.
func (g *group) due(now model.Instant, most int) (out []dueAt, first dueAt, err error) {
	it := keysOf(g.txn, []byte{rowDue})
	defer it.Close()
	for it.Seek(dueKey(g.db.earliest.at, g.db.earliest.household)); it.Valid(); it.Next() {
		d, err := splitDueKey(it.Item().Key())
		if err != nil {
			return nil, dueAt{}, err
		}
		if d.at > now || len(out) == most {
			return out, d, nil
		}
		out = append(out, d)
	}
	return out, dueAt{at: now}, nil
}

// Settle keeps a rota and ends the claim.
func (d *DB) Settle(ctx context.Context, s store.Rota) error {
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		before, err := d.rotaOf(g.txn, s.Household)
		if err != nil {
			return nil, nil, err
		}
		if before == nil || !before.Claimed || before.Fence != s.Fence {
			return nil, nil, store.ErrFenced
		}
		after := rota{Next: earlier(s.Next, before.Woken), Fence: s.Fence, Mark: s.Mark}
		for _, t := range s.Told {
			after.Told = append(after.Told, told(t))
		}
		rows, taken := g.rotaRows(s.Household, *before, after)
		return rows, taken, nil
	})
}

// Rotas goes through the households with phones. It reads them one by one, so that
// nothing is held up by an f that takes long.
func (d *DB) Rotas(ctx context.Context, f func(store.Rota) error) error {
	for after := []byte{rowPhone}; ; {
		h, found, err := d.rotaAfter(ctx, after)
		if err != nil || !found {
			return err
		}
		if err := f(h); err != nil {
			return err
		}
		after = append(headKey(rowPhone, h.Household, lastDevice), 0)
	}
}

// rotaAfter finds the first household with a phone behind a key.
func (d *DB) rotaAfter(ctx context.Context, key []byte) (out store.Rota, found bool, err error) {
	err = d.view(ctx, func(txn *badger.Txn) error {
		it := keysOf(txn, []byte{rowPhone})
		defer it.Close()
		if it.Seek(key); !it.Valid() {
			return nil
		}
		h, _, err := splitHeadKey(it.Item().Key())
		if err != nil {
			return err
		}
		r, err := d.rotaOf(txn, h)
		if err != nil {
			return err
		}
		out, found = r.asStored(h), true
		if _, err := txn.Get(dueKey(r.Next, h)); errors.Is(err, badger.ErrKeyNotFound) {
			out.Next = 0
		} else if err != nil {
			return damaged("read due row of %s: %w", h, err)
		}
		return nil
	})
	return out, found, err
}

func rotaKey(h model.HouseholdID) []byte { return append([]byte{rowRota}, h[:]...) }

func feedKey(secret store.FeedSum) []byte { return append([]byte{rowFeed}, secret[:]...) }

func memberKey(f store.Feed) []byte {
	return headKey(rowSecret, f.Household, model.DeviceID(f.Member))
}

const dueKeyLen = 1 + 8 + 16

func dueKey(at model.Instant, h model.HouseholdID) []byte {
	k := binary.BigEndian.AppendUint64(append(make([]byte, 0, dueKeyLen), rowDue), uint64(at))
	return append(k, h[:]...)
}

func splitDueKey(k []byte) (dueAt, error) {
	if len(k) != dueKeyLen {
		return dueAt{}, damaged("row %x is not a moment", k)
	}
	return dueAt{model.Instant(binary.BigEndian.Uint64(k[1:])), model.HouseholdID(k[9:])}, nil
}

// rotaOf reads a household's rota, nil if it has none. Of a rota that was lost or
// damaged, a new one takes the place: somebody may be told something a second time
// on that day, while not to serve it would silence the household for good.
func (d *DB) rotaOf(txn *badger.Txn, h model.HouseholdID) (*rota, error) {
	var r rota
	found, err := readRow(txn, rotaKey(h), &r)
	if errors.Is(err, store.ErrDamaged) {
		d.log.Error("rota made anew", "household", h, "err", err)
		return &rota{}, nil
	}
	if err != nil || found {
		return &r, err
	}
	it := keysOf(txn, headKey(rowPhone, h, model.DeviceID{})[:1+16])
	defer it.Close()
	if it.Rewind(); it.Valid() {
		return &rota{}, nil
	}
	return nil, nil
}

// packed is a row with a value in CBOR.
func packed(key []byte, v any) row {
	b, err := cbor.Marshal(v)
	if err != nil {
		panic(err) // the types above can all be written
	}
	return row{key, sealed(key, b)}
}

func unpack(item *badger.Item, into any) error {
	b, err := opened(item)
	if err != nil {
		return err
	}
	if err := cbor.Unmarshal(b, into); err != nil {
		return damaged("row %x cannot be read: %w", item.Key(), err)
	}
	return nil
}

func readRow(txn *badger.Txn, key []byte, into any) (found bool, err error) {
	item, err := txn.Get(key)
	if errors.Is(err, badger.ErrKeyNotFound) {
		return false, nil
	}
	if err != nil {
		return false, damaged("read row %x: %w", key, err)
	}
	return true, unpack(item, into)
}
