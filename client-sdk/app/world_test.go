package app

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"image"
	_ "image/jpeg" // the photos of the tests
	"io"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/exif"
	"leafturn/photo/scale"
)

// world is the true server program and the phones that talk to it, without browsers.
type world struct {
	t      testing.TB
	origin string
	setup  string // the one-time token of the set-up link
	clock  *time.Duration
	phones int
}

var setupLink = regexp.MustCompile(`(http://\S+)/#setup=(\S+)`)

// built is the folder of what is built for all tests of a run.
var built string

func TestMain(m *testing.M) {
	var err error
	if built, err = os.MkdirTemp("", "leafturn-app"); err != nil {
		panic(err)
	}
	code := m.Run()
	_ = os.RemoveAll(built)
	os.Exit(code)
}

// server builds the server's program once.
var server = sync.OnceValues(func() (string, error) {
	program := filepath.Join(built, "server")
	if out, err := exec.Command("go", "build", "-o", program, "leafturn/server").CombinedOutput(); err != nil {
		return "", fmt.Errorf("build the server: %w: %s", err, out)
	}
	return program, nil
})

// newWorld starts the server on a free port with an empty folder.
func newWorld(t *testing.T) *world {
	t.Helper()
	program, err := server()
	require.NoError(t, err)
	dir := t.TempDir()
	page := filepath.Join(dir, "page") // the phone app itself is not needed here
	require.NoError(t, os.MkdirAll(page, 0o755))
	for _, name := range []string{"index.html", "app.js", "worker.js", "sw.js", "app.css", "manifest.webmanifest", "app.wasm", "wasm_exec.js"} {
		require.NoError(t, os.WriteFile(filepath.Join(page, name), []byte("x"), 0o644))
	}
	cmd := exec.Command(program, "--data", filepath.Join(dir, "data"), "--listen", freePort(t), "--app", page)
	stdout, err := cmd.StdoutPipe()
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	w := &world{t: t, clock: new(time.Duration)}
	for lines := bufio.NewScanner(stdout); w.setup == "" && lines.Scan(); {
		if m := setupLink.FindStringSubmatch(lines.Text()); m != nil {
			w.origin, w.setup = m[1], m[2]
		}
	}
	require.NotEmpty(t, w.setup, "the server printed no set-up link")
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	return w
}

func freePort(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

// phone is one person's phone.
type phone struct {
	*App
	t       testing.TB
	w       *world
	vault   *memvault.Vault
	link    *cable
	page    map[string]string // what is on the page, by element
	options Options
}

// cable is a transport that can be pulled out.
type cable struct {
	replica.Transport
	out   bool
	asked []string // what was asked through it, by method and path
}

func (c *cable) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	if c.out {
		return nil, replica.ErrOffline
	}
	c.asked = append(c.asked, r.Method+" "+r.Path)
	return c.Transport.Do(ctx, r)
}

// chance is where a phone takes its key and its ids from. A test gets the same ones
// each time: forecasts draw from a seed that is made of them.
func (w *world) chance() io.Reader {
	w.phones++
	return rand.NewChaCha8(sha256.Sum256(fmt.Appendf(nil, "%s, phone %d", w.t.Name(), w.phones)))
}

func (w *world) phone() *phone {
	p := &phone{t: w.t, w: w, vault: memvault.New(), page: map[string]string{}}
	line, err := remote.New(w.origin, nil)
	require.NoError(w.t, err)
	p.link = &cable{Transport: line}
	p.options = w.optionsOf(p, func() int64 { return time.Now().Add(*w.clock).UnixMilli() })
	p.restart("")
	return p
}

func (w *world) optionsOf(p *phone, wall func() int64) Options {
	random := w.chance()
	return Options{
		Main: p.vault, Sample: memvault.New(), Transport: p.link, Version: "test", Darkroom: darkroom{},
		Replica: replica.Options{
			Wall: wall, Random: random, NewID: func() uuid.UUID { return uuid.Must(uuid.NewRandomFromReader(random)) },
		},
		File: func(_ context.Context, path string) ([]byte, error) {
			return os.ReadFile(filepath.Join("..", "web", filepath.FromSlash(path)))
		},
	}
}

// restart is a reload of the page: everything but the vault is forgotten.
func (p *phone) restart(hash string) {
	p.App = New(p.options)
	p.show(p.Start(context.Background(), Env{Zone: "Europe/Berlin", East: 3600, Origin: p.w.origin}, hash))
}

// show puts an answer on the page and follows where it leads.
func (p *phone) show(a Answer) Answer {
	for _, s := range a.Swaps {
		p.page[s.Target] = s.HTML
	}
	if a.Status != "" {
		p.page["status"] = a.Status
	}
	if a.Work != nil {
		a.Work(func(do func(context.Context) Answer) { p.show(do(context.Background())) })
	}
	if a.Go != "" && a.Go != p.route {
		p.show(p.Go(context.Background(), a.Go))
	}
	return a
}

func (p *phone) open(hash string) string {
	p.show(p.Go(context.Background(), hash))
	return p.main()
}

func (p *phone) main() string { return p.page[screens.IDMain] }

// do does what a tap would: fields are name, value, name, value.
func (p *phone) do(action string, fields ...string) Answer {
	return p.send(Event{Do: action, Data: dataOf(fields)})
}

func (p *phone) send(e Event) Answer { return p.show(p.Do(context.Background(), e)) }

// snap takes a photo in the finding form.
func (p *phone) snap(plant string, file []byte) Answer {
	return p.send(Event{Do: screens.ActAddPhoto, Data: dataOf([]string{"plant", plant}), Files: []File{{Field: "photo", Bytes: file}}})
}

// darkroom decodes photos without a browser.
type darkroom struct{}

func (d darkroom) Prepare(file []byte, _ bool) ([]byte, image.Image, error) {
	clean, err := exif.Strip(file)
	if err != nil {
		return nil, nil, err
	}
	look, err := d.Look(clean.Kept, 640)
	return clean.Kept, look, err
}

func (darkroom) Look(kept []byte, long int) (image.Image, error) {
	img, _, err := image.Decode(bytes.NewReader(kept))
	if err != nil {
		return nil, err
	}
	return scale.Fit(img, long, 1), nil
}

func dataOf(fields []string) Data {
	d := Data{}
	for i := 0; i < len(fields); i += 2 {
		d[fields[i]] = append(d[fields[i]], fields[i+1])
	}
	return d
}

func (p *phone) sync() {
	job, answer := p.BeginSync()
	require.NotNil(p.t, job)
	p.show(answer)
	p.show(p.EndSync(context.Background(), job(context.Background())))
}

// value finds the value of a field or attribute on the page.
func (p *phone) value(pattern string) string {
	m := regexp.MustCompile(pattern).FindStringSubmatch(p.main())
	require.NotNil(p.t, m, "no %s on the page:\n%s", pattern, p.main())
	return strings.ReplaceAll(m[1], "&amp;", "&")
}

func (p *phone) plant(name string) string {
	found := ""
	p.house.Read(func(b *model.Book) {
		for _, x := range b.Plants {
			if x.Name == name {
				found = x.ID.String()
			}
		}
	})
	require.NotEmpty(p.t, found, "no plant %s", name)
	return found
}

func (p *phone) digest() [32]byte {
	d, err := p.house.Digest()
	require.NoError(p.t, err)
	return d
}
