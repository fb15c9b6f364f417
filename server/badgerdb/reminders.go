package badgerdb

import (
	"context"

	"github.com/dgraph-io/badger/v4"

	"leafturn/model"
	"leafturn/server/store"
)

// Subscribe keeps a phone and wakes its household.
func (d *DB) Subscribe(ctx context.Context, p store.Phone, at model.Instant) error {
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		r, err := d.rotaOf(g.txn, p.Household)
		if err != nil {
			return nil, nil, err
		}
		if r == nil {
			r = &rota{}
		}
		before := *r
		r.wake(at)
		rows, taken := g.rotaRows(p.Household, before, *r)
		return append(rows, packed(headKey(rowPhone, p.Household, p.Device), phone{p.Endpoint, p.Key, p.Secret})), taken, nil
	})
}

// Unsubscribe forgets a phone. The rota stays: it sleeps once nobody is to be told.
func (d *DB) Unsubscribe(ctx context.Context, h model.HouseholdID, device model.DeviceID, endpoint string) error {
	key := headKey(rowPhone, h, device)
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		var p phone
		found, err := readRow(g.txn, key, &p)
		if err != nil || !found || endpoint != "" && endpoint != p.Endpoint {
			return nil, nil, err
		}
		return []row{{key: key}}, nil, nil
	})
}

// Phones gives the phones of a household.
func (d *DB) Phones(ctx context.Context, h model.HouseholdID) (out []store.Phone, err error) {
	err = d.view(ctx, func(txn *badger.Txn) error {
		opt := badger.DefaultIteratorOptions
		opt.Prefix = headKey(rowPhone, h, model.DeviceID{})[:1+16]
		it := txn.NewIterator(opt)
		defer it.Close()
		for it.Rewind(); it.Valid(); it.Next() {
			_, device, err := splitHeadKey(it.Item().Key())
			if err != nil {
				return err
			}
			var p phone
			if err := unpack(it.Item(), &p); err != nil {
				return err
			}
			out = append(out, store.Phone{Household: h, Device: device, Endpoint: p.Endpoint, Key: p.Key, Secret: p.Secret})
		}
		return nil
	})
	return out, err
}

// OpenFeed lets a secret open a member's feed.
func (d *DB) OpenFeed(ctx context.Context, f store.Feed, secret store.FeedSum) error {
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		rows, err := dropFeed(g.txn, f)
		rows = append(rows,
			packed(feedKey(secret), feed{f.Household, f.Member}),
			packed(memberKey(f), secret))
		return rows, nil, err
	})
}

// CloseFeed lets no secret open it.
func (d *DB) CloseFeed(ctx context.Context, f store.Feed) error {
	return d.write(ctx, func(g *group) ([]row, func(), error) {
		rows, err := dropFeed(g.txn, f)
		return rows, nil, err
	})
}

func dropFeed(txn *badger.Txn, f store.Feed) ([]row, error) {
	var old store.FeedSum
	found, err := readRow(txn, memberKey(f), &old)
	if err != nil || !found {
		return nil, err
	}
	return []row{{key: feedKey(old)}, {key: memberKey(f)}}, nil
}

// Feed says what a secret opens.
func (d *DB) Feed(ctx context.Context, secret store.FeedSum) (store.Feed, error) {
	var f feed
	err := d.view(ctx, func(txn *badger.Txn) error {
		found, err := readRow(txn, feedKey(secret), &f)
		if err == nil && !found {
			err = store.ErrNoFeed
		}
		return err
	})
	return store.Feed{Household: f.Household, Member: f.Member}, err
}
