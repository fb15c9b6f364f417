package app

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"image"
	_ "image/jpeg" // the photos of the tests
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
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

// world is a server and the phones that talk to it, without browsers, by one clock.
type world struct {
	clock
	t      testing.TB
	origin string
	setup  string // the one-time token of the set-up link
	phones int
}

// newWorld is a world with a server that knows nobody yet.
func newWorld(t *testing.T) *world {
	t.Helper()
	w := alone(t)
	w.serve(t)
	return w
}

// alone is a world without a server.
func alone(t testing.TB) *world {
	return &world{clock: clock{began: noon}, t: t, origin: "http://127.0.0.1:9"} // nobody answers there
}

// phone is one person's phone.
type phone struct {
	*App
	t       testing.TB
	w       *world
	vault   *memvault.Vault
	link    *cable
	page    map[string]string // what is on the page, by element
	skew    time.Duration     // how far the phone's clock goes before the world's
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
	p.options = w.optionsOf(p, w.now)
	p.restart("")
	return p
}

func (w *world) optionsOf(p *phone, now func() time.Time) Options {
	random := w.chance()
	return Options{
		Main: p.vault, Sample: memvault.New(), Transport: p.link, Version: "test", Darkroom: darkroom{},
		Replica: replica.Options{
			Wall: func() int64 { return now().Add(p.skew).UnixMilli() }, Random: random, NewID: func() uuid.UUID { return uuid.Must(uuid.NewRandomFromReader(random)) },
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

func (p *phone) send(e Event) Answer {
	p.w.pass(time.Second)
	return p.show(p.Do(context.Background(), e))
}

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
