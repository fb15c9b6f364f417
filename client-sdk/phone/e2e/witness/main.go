// Command witness joins a household as a further phone and tells what that phone
// knows, so that a test in a browser can compare notes with somebody else.
//
// It takes the server's address and an invitation. For each line on its standard
// input it syncs and prints one line of JSON: its digest and the server's, how far it
// knows each log, the facts, and the SHA-256 of each photo as the server gives it.
// A line that says "plants N" or "looks N" makes it write so many of them first, and
// "arrivals 1" or "walks 1" that all plants came in 22 days ago, or the round of
// the one place was walked eight days ago.
package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/model/agenda"
)

func main() {
	if err := run(context.Background(), os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, server, invitation string) error {
	w, err := join(ctx, server, invitation)
	if err != nil {
		return err
	}
	out := json.NewEncoder(os.Stdout)
	for lines := bufio.NewScanner(os.Stdin); lines.Scan(); {
		if err := w.obey(ctx, lines.Text()); err != nil {
			return err
		}
		said, err := w.report(ctx)
		if err != nil {
			return err
		}
		if err := out.Encode(said); err != nil {
			return err
		}
	}
	return nil
}

// witness is the phone.
type witness struct {
	house  *replica.Replica
	server *replica.Server
}

func join(ctx context.Context, server, invitation string) (*witness, error) {
	inv, err := replica.ParseInvitation(invitation)
	if err != nil {
		return nil, err
	}
	t, err := remote.New(server, nil)
	if err != nil {
		return nil, err
	}
	opts := replica.Options{Wall: func() int64 { return time.Now().UnixMilli() }, Random: rand.Reader, NewID: uuid.New}
	house, err := replica.Join(ctx, memvault.New(), opts, inv, replica.Start{Member: "Witness", Phone: "Notebook"})
	if err != nil {
		return nil, err
	}
	w := &witness{house: house, server: house.Server(t)}
	return w, house.Announce(ctx, w.server)
}

// obey writes what a line asks for, if it asks for anything.
func (w *witness) obey(ctx context.Context, line string) error {
	if err := w.house.Sync(ctx, w.server); err != nil {
		return err
	}
	what, n := "", 0
	if _, err := fmt.Sscanf(line, "%s %d", &what, &n); err != nil {
		return nil
	}
	ops := w.orders()[what]
	if ops == nil {
		return fmt.Errorf("no such order: %s", line)
	}
	if err := w.write(ctx, n, ops()); err != nil {
		return err
	}
	return w.house.Sync(ctx, w.server)
}

// orders makes, for each word of a line, what makes the operations that it stands for.
func (w *witness) orders() map[string]func() func(i int) any {
	return map[string]func() func(int) any{"plants": w.plants, "looks": w.looks, "arrivals": w.arrivals, "walks": w.walks}
}

// plants stand in any one of the household's places.
func (w *witness) plants() func(i int) any {
	var place model.PlaceID
	w.house.Read(func(b *model.Book) {
		for id := range b.Places {
			place = id
		}
	})
	return func(i int) any {
		return replica.Set(model.KindPlant, model.PlantID(w.house.NewID()),
			replica.To(model.PlantName, model.Text(fmt.Sprintf("Plant %03d", i))), replica.To(model.PlantPlace, model.IDValue(place)))
	}
}

// looks go round the household's plants and find nothing.
func (w *witness) looks() func(i int) any {
	var plants []model.PlantID
	w.house.Read(func(b *model.Book) {
		for id := range b.Plants {
			plants = append(plants, id)
		}
	})
	return func(i int) any { return replica.Seen(&model.Inspection{Plant: plants[i%len(plants)]}) }
}

// arrivals bring in the household's plants so long ago that their time apart is over.
func (w *witness) arrivals() func(i int) any {
	x := &model.Handling{Kind: model.CameIn}
	w.house.Read(func(b *model.Book) {
		for id := range b.Plants {
			x.Plants = append(x.Plants, id)
		}
	})
	return func(int) any { return w.ago(22, x) }
}

// walks complete the round of a place so long ago that the next one is due.
func (w *witness) walks() func(i int) any {
	var round model.TaskKey
	w.house.Read(func(b *model.Book) {
		for id := range b.Places {
			round = agenda.Derive(b, w.house.Now(), time.UTC).Round(id).Key
		}
	})
	return func(int) any { return w.ago(8, &model.TaskCompleted{Task: round}) }
}

func (w *witness) ago(days int, body model.Body) *model.Fact {
	return &model.Fact{At: w.house.Now() - model.Instant(days)*24*3_600_000, Body: body}
}

// write writes n operations, a few hundred at a time.
func (w *witness) write(ctx context.Context, n int, op func(i int) any) error {
	for done := 0; done < n; {
		var ops []any
		for ; len(ops) < 500 && done < n; done++ {
			ops = append(ops, op(done))
		}
		if _, err := w.house.Do(ctx, ops...); err != nil {
			return err
		}
	}
	return nil
}

// report is what the witness knows.
type report struct {
	Digest string            `json:"digest"`
	Server string            `json:"server"` // the server's digest
	Vector map[string]uint64 `json:"vector"`
	Facts  []fact            `json:"facts"`
	Photos map[string]photo  `json:"photos"` // by their sum
}

type fact struct {
	ID    string   `json:"id"`
	Kind  string   `json:"kind"`
	By    string   `json:"by"`
	Plant []string `json:"plant"` // names
	Note  string   `json:"note"`
}

type photo struct {
	SHA256 string `json:"sha256"`
	Bytes  int    `json:"bytes"`
	Error  string `json:"error,omitempty"`
}

func (w *witness) report(ctx context.Context) (*report, error) {
	digest, err := w.house.Digest()
	if err != nil {
		return nil, err
	}
	r := &report{Digest: hex.EncodeToString(digest[:]), Vector: map[string]uint64{}, Photos: map[string]photo{}}
	if r.Server, err = w.server.Digest(ctx); err != nil {
		return nil, err
	}
	for d, seq := range w.house.Vector() {
		r.Vector[d.String()] = seq
	}
	var sums []model.PhotoSum
	w.house.Read(func(b *model.Book) { r.Facts, sums = facts(b) })
	for _, sum := range sums {
		r.Photos[sum.String()] = w.fetch(ctx, sum)
	}
	return r, nil
}

func facts(b *model.Book) (out []fact, sums []model.PhotoSum) {
	for _, f := range b.Facts() {
		x := fact{ID: fmt.Sprintf("%s.%d", f.ID.Device, f.ID.Seq), Kind: strings.TrimPrefix(fmt.Sprintf("%T", f.Body), "*model.")}
		if m := b.Members[f.By]; m != nil {
			x.By = m.Name
		}
		var plants []model.PlantID
		switch body := f.Body.(type) {
		case *model.Inspection:
			plants, x.Note = []model.PlantID{body.Plant}, body.Note
			sums = append(sums, body.Photos...)
		case *model.Application:
			plants, x.Note = body.Plants, body.Note
		case *model.Handling:
			plants, x.Note = body.Plants, body.Note
		}
		for _, id := range plants {
			x.Plant = append(x.Plant, b.Plants[id].Name)
		}
		out = append(out, x)
	}
	return out, sums
}

// fetch asks the server for a photo, always anew.
func (w *witness) fetch(ctx context.Context, sum model.PhotoSum) photo {
	data, _, err := w.server.Photo(ctx, sum, 0)
	if err != nil {
		return photo{Error: err.Error()}
	}
	got := sha256.Sum256(data)
	return photo{SHA256: hex.EncodeToString(got[:]), Bytes: len(data)}
}
