// Package badgerdb keeps the logs of households in Badger, inside the server's own
// process.
//
// A row is a key and a value with a checksum over both. The logs have three kinds:
//
//	b household device last   a batch as it travels, under the number of its last
//	                          operation, so that a batch which overlaps an earlier
//	                          one lies after it and "all after n" is one seek
//	h household device        the head of a device's log
//	t household device        the same once more
//
// and reminders have five, whose values are CBOR:
//
//	s household device        where the device takes messages
//	r household               the household's rota
//	w moment household        nothing; the rotas by the moment they are next due
//	f secret                  the feed that a secret opens, by the secret's hash
//	m household member        the secret that opens a member's feed
//
// Two more are the store's own: v, the version of all rows, and e, its epoch.
//
// Badger itself hides damage: a flipped bit can make rows disappear without an
// error. Therefore everything that is read is compared with something else. A row's
// checksum says that it is the row that was written; the two heads of a log must
// agree; batches must follow each other without a gap up to the head. What does not
// fit is store.ErrDamaged, and nothing of it is served.
//
// One goroutine, the committer, does all writing. It gathers what many phones of
// many households want to write, puts it into one transaction, and answers them all
// when the disk has confirmed that, because a disk confirms a thousand batches as
// quickly as one.
package badgerdb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"

	"leafturn/model"
	"leafturn/server/store"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Gate says whether the disk has room for a write. It is asked before each.
type Gate interface{ Check() error }

// Config is what a store needs besides its folder.
type Config struct {
	Gate Gate
	// Tick says when to look for space that the value log no longer needs.
	Tick <-chan time.Time
	Log  *slog.Logger
}

// DB is a store.Store and the store.Reminders beside it, in a folder.
type DB struct {
	db   *badger.DB
	gate Gate
	log  *slog.Logger

	epoch atomic.Pointer[wire.Epoch]
	heads map[logID]oplog.Head // of logs written lately; the committer's own

	// No rota is due at a place before this one. Rows that were removed cost a search
	// until Badger compacts them away, and there are many just before it, all at one
	// moment if many people chose the same hour. It is the committer's own.
	earliest dueAt

	queue   chan *request
	stop    chan struct{} // closed when Close begins
	broken  chan struct{} // closed by the committer when a write fails
	stopped chan struct{} // closed by the committer when it ends
	work    sync.WaitGroup

	// files guards Badger's files against a Close while somebody reads them.
	files  sync.RWMutex
	closed bool // guarded by files

	commit func(*badger.Txn) error // tests make it fail
}

var (
	_ store.Store     = (*DB)(nil)
	_ store.Reminders = (*DB)(nil)
)

// Open opens the store in a folder, which it makes if it is missing.
func Open(dir string, cfg Config) (*DB, error) { return open(tuned(dir, cfg.Log), cfg) }

func open(opts badger.Options, cfg Config) (*DB, error) {
	if err := dropEmpty(opts.Dir); err != nil {
		return nil, fmt.Errorf("tidy up: %w", err)
	}
	db, err := badger.Open(opts)
	if err != nil {
		return nil, fmt.Errorf("open badger: %w", err)
	}
	err = checkVersion(db)
	var epoch wire.Epoch
	if err == nil {
		epoch, err = openEpoch(db)
	}
	if err != nil {
		db.Close()
		return nil, err
	}
	d := &DB{
		db: db, gate: cfg.Gate, log: cfg.Log, heads: map[logID]oplog.Head{},
		queue: make(chan *request, queueLength), stop: make(chan struct{}), broken: make(chan struct{}), stopped: make(chan struct{}),
		commit: (*badger.Txn).Commit,
	}
	d.epoch.Store(&epoch)
	d.work.Go(d.commitAll)
	d.work.Go(func() { d.collect(cfg.Tick) })
	return d, nil
}

// dropEmpty removes files that hold nothing. Badger makes a file empty before it
// removes it, and makes it before it gives it its size; if the process is killed in
// between, Badger does not open the folder (dgraph-io/badger issue 2207). Nothing
// that was acknowledged is in an empty file. The folder must be ours alone, as the
// lock of the data directory sees to.
func dropEmpty(dir string) error {
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, f := range files {
		if ext := filepath.Ext(f.Name()); ext != ".mem" && ext != ".vlog" {
			continue
		}
		info, err := f.Info()
		if err == nil && info.Size() == 0 {
			err = os.Remove(filepath.Join(dir, f.Name()))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// memTable is the size of what Badger gathers in memory before it writes a table.
// Its transactions may fill 15 % of it, and a transaction must have room for the
// largest message, of less than two megabytes.
const memTable = 16 << 20

// tuned are the options for a small server that loses nothing. The values are
// small, packed already, and read in long runs, so neither compression nor a cache
// of blocks would earn its memory. Compacting on close drops the heads of every
// append but the last, which are half of what a phone that syncs often writes.
func tuned(dir string, log *slog.Logger) badger.Options {
	return badger.DefaultOptions(dir).
		WithSyncWrites(true).
		WithDetectConflicts(false). // there is one writer
		WithMemTableSize(memTable).
		WithNumMemtables(2).
		WithNumLevelZeroTables(3).
		WithNumLevelZeroTablesStall(6).
		WithNumCompactors(2).
		WithNumGoroutines(2).
		WithBaseTableSize(4 << 20).
		WithBaseLevelSize(16 << 20).
		WithValueLogFileSize(64 << 20).
		WithCompactL0OnClose(true).
		WithCompression(options.None).
		WithBlockCacheSize(0).
		WithMetricsEnabled(false).
		WithLogger(quiet{log})
}

// Log is the log of a household.
func (d *DB) Log(h model.HouseholdID) oplog.Log { return &household{d, h} }

// Broken is closed when a write has failed.
func (d *DB) Broken() <-chan struct{} { return d.broken }

// Close lets the running write finish and gives the files back.
func (d *DB) Close() error {
	d.files.Lock()
	defer d.files.Unlock()
	if d.closed {
		return nil
	}
	d.closed = true
	close(d.stop)
	d.work.Wait()
	if err := d.db.Close(); err != nil {
		return fmt.Errorf("close badger: %w", err)
	}
	return nil
}

// view reads from the store, unless it is closed or broken.
func (d *DB) view(ctx context.Context, f func(*badger.Txn) error) error {
	d.files.RLock()
	defer d.files.RUnlock()
	if d.closed {
		return store.ErrClosed
	}
	if d.isBroken() {
		return store.ErrBroken
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := d.db.View(f); err != nil {
		return err
	}
	if d.isBroken() { // what was read may be the write that failed
		return store.ErrBroken
	}
	return nil
}

func (d *DB) isBroken() bool {
	select {
	case <-d.broken:
		return true
	default:
		return false
	}
}

// collect frees space of the value log, which holds only the largest batches, each
// time it is told to.
func (d *DB) collect(tick <-chan time.Time) {
	for {
		select {
		case <-d.stop:
			return
		case <-tick:
		}
		for d.db.RunValueLogGC(0.5) == nil { // nil means that a file was freed
			select {
			case <-d.stop:
				return
			default:
			}
		}
	}
}

// Households gives the households that hold something.
func (d *DB) Households(ctx context.Context) ([]model.HouseholdID, error) {
	var out []model.HouseholdID
	err := d.view(ctx, func(txn *badger.Txn) error {
		it := keysOf(txn, []byte{rowHead})
		defer it.Close()
		for it.Rewind(); it.Valid(); {
			h, _, err := splitHeadKey(it.Item().Key())
			if err != nil {
				return err
			}
			out = append(out, h)
			it.Seek(append(headKey(rowHead, h, lastDevice), 0)) // just past the household
		}
		return nil
	})
	return out, err
}

// lastDevice is the greatest id there can be.
var lastDevice = model.DeviceID(bytes.Repeat([]byte{0xff}, 16))

// quiet passes on what Badger has to complain about and drops its chatter.
type quiet struct{ log *slog.Logger }

func (q quiet) Errorf(f string, args ...any) { q.log.Error("badger", "msg", message(f, args)) }
func (q quiet) Warningf(f string, args ...any) {
	q.log.Warn("badger", "msg", message(f, args))
}
func (q quiet) Infof(string, ...any)  {}
func (q quiet) Debugf(string, ...any) {}

func message(f string, args []any) string { return strings.TrimSpace(fmt.Sprintf(f, args...)) }
