package httpapi_test

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/phototest"
	"leafturn/photo/upload"
	"leafturn/server/httpapi"
)

// killDir makes the test program play the server that is killed.
const killDir = "LEAFTURN_TEST_KILL_DIR"

var kills = flag.Int("kills", 8, "how often the server is killed while it takes photos in")

func TestMain(m *testing.M) {
	if dir := os.Getenv(killDir); dir != "" {
		fmt.Fprintln(os.Stderr, serveToBeKilled(dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// serveToBeKilled serves uploads and photos from a folder, as the program does, and
// says its address.
func serveToBeKilled(dir string) error {
	store, err := dirstore.Open(filepath.Join(dir, "photos"))
	if err != nil {
		return err
	}
	finish := func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, f io.ReaderAt, size int64) error {
		_, err := photo.Receive(ctx, store, hh, sum, f, size, photo.DefaultLimits())
		return err
	}
	desk, err := upload.Open(filepath.Join(dir, "uploads"), finish, upload.DefaultLimits(), time.Now)
	if err != nil {
		return err
	}
	app := fiber.New(fiber.Config{StreamRequestBody: true, DisableStartupMessage: true, ErrorHandler: tusErrors, Immutable: true})
	app.Use(httpapi.Bodies)
	g := app.Group("/api/v1/households/:hh")
	(&httpapi.Uploads{Desk: desk, Photos: store}).Mount(g, tusHousehold)
	(&httpapi.Photos{Store: store}).Mount(g, tusHousehold)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	fmt.Println(listener.Addr())
	return app.Listener(listener)
}

// startToBeKilled starts the server as a process of its own.
func startToBeKilled(t *testing.T, dir string) (r *tusRig, kill func()) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env, cmd.Stderr = append(os.Environ(), killDir+"="+dir), os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	addr, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	ended := false
	kill = func() {
		if !ended {
			ended = true
			require.NoError(t, cmd.Process.Kill())
			var exit *exec.ExitError
			require.ErrorAs(t, cmd.Wait(), &exit)
		}
	}
	t.Cleanup(kill)
	return &tusRig{t: t, addr: strings.TrimSpace(addr)}, kill
}

// TestKilledServer kills the server in the middle of pieces, at points drawn by chance,
// and starts it again each time:
//  1. the offset is at least the last one that was confirmed, or written down;
//  2. it is at most the bytes on the disk, and those are the photo's;
//  3. going on from it, the photo arrives as it was sent, with its copies.
func TestKilledServer(t *testing.T) {
	dir, chance := t.TempDir(), rand.New(rand.NewPCG(6, 6))
	killed := 0
	for n := uint64(0); killed < *kills; n++ {
		file := phototest.PNG(1400, 900, n) // more than 3 MB
		r, kill := startToBeKilled(t, dir)
		u, kept := r.create(file), 0
		for killed < *kills && kept < len(file)*3/4 {
			kept += chance.IntN(50_000)
			require.Equal(t, fmt.Sprint(kept), r.sendAll(u, file[:kept], requireKept(t, r, dir, u, file, 0)).offset())
			cut := chance.IntN(len(file) - kept)
			conn, err := net.Dial("tcp", r.addr)
			require.NoError(t, err)
			_, err = io.WriteString(conn, head("PATCH", u, pieceHeaders(kept), len(file)-kept))
			require.NoError(t, err)
			_, err = conn.Write(file[kept : kept+cut])
			require.NoError(t, err)
			if cut > 5<<18 { // so much that a part of it is written down on the way
				kept = waitForOffset(t, dir, u, kept+1<<20)
			}
			kill()
			require.NoError(t, conn.Close())
			killed++
			r, kill = startToBeKilled(t, dir)
			kept = requireKept(t, r, dir, u, file, kept)
		}
		r.finishFrom(u, file, kept)
		kill()
		r, kill = startToBeKilled(t, dir)
		sum := photo.SumOf(file).String()
		sameBytes(t, file, r.send("GET", photosBase+sum, nil, nil).body)
		require.Equal(t, http.StatusOK, r.send("GET", photosBase+sum+"?size=320", nil, nil).status)
		kill()
	}
}

// waitForOffset waits until the disk says so much, and gives what it says.
func waitForOffset(t *testing.T, dir, u string, least int) int {
	t.Helper()
	for {
		b, err := os.ReadFile(filepath.Join(dir, "uploads", phototest.Household(1).String(), path.Base(u)+".offset"))
		require.NoError(t, err)
		if len(b) < 8 {
			continue // met in the middle of being written
		}
		if offset := int(binary.BigEndian.Uint64(b)); offset >= least {
			return offset
		}
	}
}

// requireKept asks for the offset and compares what is on the disk.
func requireKept(t *testing.T, r *tusRig, dir, u string, file []byte, confirmed int) int {
	t.Helper()
	offset := r.offset(u)
	require.GreaterOrEqual(t, offset, confirmed)
	data, err := os.ReadFile(filepath.Join(dir, "uploads", phototest.Household(1).String(), path.Base(u)+".data"))
	if errors.Is(err, os.ErrNotExist) {
		require.Equal(t, len(file), offset, "only a complete upload has no bytes of its own")
		return offset
	}
	require.NoError(t, err)
	require.LessOrEqual(t, offset, len(data))
	sameBytes(t, file[:offset], data[:offset])
	return offset
}
