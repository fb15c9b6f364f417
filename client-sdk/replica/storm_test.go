package replica_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/sync/oplog"
)

// Everything at once: phones are copied, carry files to each other, lose the line and are
// killed, and the server is put back to earlier states. In the end all know the same, and
// everything that was said to be saved is there, once.
func TestCopiesFilesAndRestoredServers(t *testing.T) {
	for seed := range uint64(12) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			s, c, a, b := pair(t)
			random := rand.New(rand.NewPCG(seed, 9))
			phones := []*phone{a, b}
			any := func() *phone { return phones[random.IntN(len(phones))] }
			backups := [][]*oplog.Batch{s.backup(t)}
			var want []string
			for range 60 {
				c.pass(60_000)
				p := any()
				switch random.IntN(12) {
				case 0:
					if len(phones) < 6 {
						twin := copyOf(t, p)
						twin.opts.Random = newPhone(s, nil, byte(60+len(phones))).opts.Random
						twin.reopen(t)
						phones = append(phones, twin)
					}
				case 1:
					carried(t, p, any())
				case 2:
					backups = append(backups, s.backup(t))
				case 3:
					s.restore(t, backups[random.IntN(len(backups))])
					s.signOut()
				case 4:
					p.reopen(t)
				case 5, 6, 7, 8:
					want = append(want, fmt.Sprint("note ", len(want)))
					p.do(t, look(want[len(want)-1]))
				default:
					p.line.fates = []fate{fate(random.IntN(int(fates))), arrives, arrives, fate(random.IntN(int(fates)))}
					_ = p.Sync(ctx, p.server) // whatever becomes of it
					p.line.fates = nil
				}
			}
			for range 5 {
				for _, p := range phones {
					_ = p.Sync(ctx, p.server) // one may have to wait for another
				}
			}
			for _, p := range phones {
				p.sync(t)
				require.Zero(t, p.Status().Unsent)
				require.Nil(t, p.Status().Unread)
			}
			sameNotes(t, want, phones...)
			requireSame(t, s, phones...)
		})
	}
}
