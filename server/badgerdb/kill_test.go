package badgerdb_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/badgerdb"
	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// Set in the environment of a process that is only there to be killed: where it
// writes, and that it does not wait for the disk.
const (
	childDir      = "LEAFTURN_TEST_WRITE_TO"
	childUnsynced = "LEAFTURN_TEST_UNSYNCED"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		if err := writeForEver(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

const killedWriters = 16

func killedPen(writer int) *logtest.Pen {
	return logtest.NewPen(storetest.Household(string(rune('a'+writer%4))), byte(writer+1))
}

// writeForEver goes on where an earlier process was killed. It says each batch aloud
// once it was acknowledged.
func writeForEver(dir string) error {
	open := badgerdb.Open
	if os.Getenv(childUnsynced) != "" {
		open = badgerdb.OpenUnsynced
	}
	db, err := open(dir, badgerdb.Config{Gate: &gate{}, Log: quietLog})
	if err != nil {
		return err
	}
	errs := make(chan error)
	var out sync.Mutex
	for w := range killedWriters {
		go func() { errs <- writeAs(db, w, &out) }()
	}
	return <-errs
}

func writeAs(db *badgerdb.DB, writer int, out *sync.Mutex) error {
	ctx := context.Background()
	p := killedPen(writer)
	log := db.Log(p.Household)
	heads, err := log.Heads(ctx)
	if err != nil {
		return err
	}
	for {
		b := p.Batch(plain{}, 3)
		if b.Last() < heads[p.Device()].Seq {
			continue // kept by a process before; its last one is sent again
		}
		if err := log.Append(ctx, []*oplog.Batch{b}); err != nil {
			return err
		}
		out.Lock()
		fmt.Println(writer, b.Last())
		out.Unlock()
	}
}

// plain lets a pen write outside of a test.
type plain struct{ testing.TB }

func (plain) Helper()                        {}
func (plain) Errorf(format string, a ...any) { panic(fmt.Sprintf(format, a...)) }
func (plain) FailNow()                       { panic("stopped") }

// A process that is killed at any moment has lost nothing that it acknowledged, and
// the next one goes on from there.
func TestKilledWhileWriting(t *testing.T) {
	const rounds, seed = 20, 20260315
	rnd := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	acked := map[int]uint64{}
	total := 0
	for range rounds {
		total += killAfter(t, dir, 1+rnd.IntN(200), acked)
		checkAcked(t, dir, acked)
	}
	t.Logf("seed %d: %d kills, %d batches acknowledged, 0 lost", seed, rounds, total)
	require.Greater(t, total, rounds)
}

// killAfter kills a writing process when it has acknowledged n batches.
func killAfter(t *testing.T, dir string, n int, acked map[int]uint64) (count int) {
	child := writer(dir)
	var complaint strings.Builder
	child.Stderr = &complaint
	count = listen(t, child, acked, n, func() { require.NoError(t, child.Process.Kill()) })
	require.Error(t, child.Wait(), "killed")
	require.Empty(t, complaint.String())
	return count
}

// writer is a process that writes for ever.
func writer(dir string, env ...string) *exec.Cmd {
	child := exec.Command(os.Args[0])
	child.Env = append(append(os.Environ(), childDir+"="+dir), env...)
	return child
}

// listen starts a writer and notes what it acknowledges until it is dead, also what
// it still says when it is being killed. After n acknowledgements it calls kill.
func listen(t *testing.T, child *exec.Cmd, acked map[int]uint64, n int, kill func()) (count int) {
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	for lines := bufio.NewScanner(out); lines.Scan(); count++ {
		var w int
		var seq uint64
		if n, _ := fmt.Sscan(lines.Text(), &w, &seq); n != 2 {
			break // cut off by the kill
		}
		acked[w] = seq
		if count == n {
			kill()
		}
	}
	return count
}

func checkAcked(t *testing.T, dir string, acked map[int]uint64) {
	t.Helper()
	require.Zero(t, lost(t, dir, acked))
}

// lost is how many batches were acknowledged and are not there.
func lost(t *testing.T, dir string, acked map[int]uint64) (n uint64) {
	t.Helper()
	ctx := context.Background()
	db := open(t, dir, &gate{})
	defer func() { require.NoError(t, db.Close()) }()
	for w := range killedWriters {
		p := killedPen(w)
		batches, err := db.Log(p.Household).Read(ctx, p.Device(), 0, 64<<20)
		require.NoError(t, err)
		last := uint64(0)
		for _, b := range batches {
			require.Equal(t, last+1, b.First, "nothing doubled, nothing left out")
			last = b.Last()
		}
		if acked[w] > last {
			n += acked[w] - last
		}
	}
	return n
}

// Badger leaves empty files behind when it is killed while it removes or makes one.
func TestKilledWhileAFileWasEmpty(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	p := killedPen(1)
	b := p.Batch(t, 3)
	db := open(t, dir, &gate{})
	require.NoError(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{b}))
	require.NoError(t, db.Close())
	for _, name := range []string{"00099.mem", "000099.vlog"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o600))
	}
	db = open(t, dir, &gate{})
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	heads, err := db.Log(p.Household).Heads(ctx)
	require.NoError(t, err)
	require.Equal(t, b.Last(), heads[p.Device()].Seq)
}
