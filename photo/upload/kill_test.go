package upload_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/upload"
)

// childDir makes the test program play the server that is killed.
const childDir = "LEAFTURN_TEST_UPLOAD_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		if err := child(dir, os.Getenv(childDir+"_ID")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// killFile is what the child sends itself.
func killFile() []byte {
	b := make([]byte, 400_000)
	rand.NewChaCha8([32]byte{4}).Read(b)
	return b
}

func openForKill(dir string) (*upload.Desk, error) {
	file := killFile()
	finish := func(_ context.Context, _ model.HouseholdID, sum photo.Sum, r io.ReaderAt, size int64) error {
		got := make([]byte, size)
		if _, err := r.ReadAt(got, 0); err != nil && err != io.EOF {
			return err
		}
		if photo.SumOf(got) != photo.SumOf(file) {
			return photo.ErrSumMismatch
		}
		return nil
	}
	return upload.Open(dir, finish, upload.DefaultLimits(), func() time.Time { return noon })
}

// child appends small pieces until it is done, and says each offset it was told.
func child(dir, text string) error {
	d, err := openForKill(dir)
	if err != nil {
		return err
	}
	id, err := upload.ParseID(text)
	if err != nil {
		return err
	}
	ctx, file := context.Background(), killFile()
	u, err := d.Stat(ctx, home, id)
	for err == nil && !u.Complete() {
		u, err = d.Append(ctx, home, id, piece(u.Offset, file[u.Offset:min(u.Length, u.Offset+2500)]))
		fmt.Println(u.Offset)
	}
	return err
}

// TestKill kills the process that takes an upload in, again and again, at points
// it does not choose, and looks at the folder each time:
//  1. the offset is at least the last one that was confirmed;
//  2. it is at most the bytes on the disk;
//  3. the bytes up to it are the file's;
//  4. going on from it completes the upload with the promised sum.
func TestKill(t *testing.T) {
	dir, r, file := t.TempDir(), rand.New(rand.NewPCG(9, 9)), killFile()
	d, err := openForKill(dir)
	require.NoError(t, err)
	u, err := d.Create(t.Context(), home, promise(file))
	require.NoError(t, err)
	kills := 0
	for !u.Complete() {
		confirmed, killed := runAndKill(t, dir, u.ID, 1+r.IntN(12))
		if killed {
			kills++
		}
		u, err = d.Stat(t.Context(), home, u.ID)
		require.NoError(t, err)
		require.GreaterOrEqual(t, u.Offset, confirmed)
		if u.Complete() {
			break
		}
		data, err := os.ReadFile(strings.Join([]string{dir, home.String(), u.ID.String() + ".data"}, "/"))
		require.NoError(t, err)
		require.LessOrEqual(t, u.Offset, int64(len(data)))
		require.Equal(t, file[:u.Offset], data[:u.Offset])
	}
	require.GreaterOrEqual(t, kills, 10, "the child must have been killed in the middle often enough to mean something")
}

// runAndKill starts a child and kills it, without warning, once it has confirmed so
// many appends. It gives the last confirmed offset.
func runAndKill(t *testing.T, dir string, id upload.ID, after int) (confirmed int64, killed bool) {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childDir+"="+dir, childDir+"_ID="+id.String())
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		_, err := fmt.Sscan(lines.Text(), &confirmed)
		require.NoError(t, err)
		if after--; after == 0 {
			require.NoError(t, cmd.Process.Kill())
			killed = true
		}
	}
	err = cmd.Wait()
	if !killed {
		require.NoError(t, err)
	}
	return confirmed, killed
}
