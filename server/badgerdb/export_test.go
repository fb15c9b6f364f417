package badgerdb

import "github.com/dgraph-io/badger/v4"

// Rows of the store, for tests that damage them.
const (
	RowBatch = rowBatch
	RowHead  = rowHead
	RowTwin  = rowTwin
	RowRota  = rowRota
	RowDue   = rowDue
)

// QueueLength is how many appends may wait.
const QueueLength = queueLength

// Sealed is a row's value.
func Sealed(key, content []byte) []byte { return sealed(key, content) }

// OpenUnsynced opens a store that acknowledges before the disk does, to show that a
// test would notice.
func OpenUnsynced(dir string, cfg Config) (*DB, error) {
	return open(tuned(dir, cfg.Log).WithSyncWrites(false), cfg)
}

// Badger is the database below the store.
func (d *DB) Badger() *badger.DB { return d.db }

// FailCommits puts a function in the place of writing to the disk. It must be
// called before the first append.
func (d *DB) FailCommits(commit func(*badger.Txn) error) { d.commit = commit }
