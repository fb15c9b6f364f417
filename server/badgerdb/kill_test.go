package badgerdb_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/badgerdb"
	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// childDir is set in the environment of a process that is only there to be killed.
const childDir = "LEAFTURN_TEST_WRITE_TO"

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
	db, err := badgerdb.Open(dir, badgerdb.Config{Gate: &gate{}, Log: quietLog})
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

// killAfter kills a writing process when it has acknowledged n batches, and notes
// what it acknowledged, also what it still said when it was being killed.
func killAfter(t *testing.T, dir string, n int, acked map[int]uint64) (count int) {
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childDir+"="+dir)
	var complaint strings.Builder
	child.Stderr = &complaint
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
			require.NoError(t, child.Process.Kill())
		}
	}
	require.Error(t, child.Wait(), "killed")
	require.Empty(t, complaint.String())
	return count
}

func checkAcked(t *testing.T, dir string, acked map[int]uint64) {
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
		require.GreaterOrEqual(t, last, acked[w], "writer %d", w)
	}
}
