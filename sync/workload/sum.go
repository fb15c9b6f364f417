package workload

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
)

// The published form of the stream: one JSON object per line, keys in this order.

type plantLine struct {
	K          string `json:"k"`
	Plant      string `json:"plant"`
	Name       string `json:"name"`
	Place      string `json:"place"`
	Quarantine bool   `json:"quarantine"`
}

type eventLine struct {
	K      string `json:"k"`
	D      int    `json:"d"`
	N      int    `json:"n"`
	ID     string `json:"id"`
	Plant  string `json:"plant"`
	Obs    string `json:"obs"`
	TS     int64  `json:"ts"`
	Part   string `json:"part"`
	Counts [4]int `json:"counts"`
	Dmg    int    `json:"dmg"`
	Note   string `json:"note,omitempty"`
	Photo  string `json:"photo,omitempty"`
}

type editLine struct {
	K     string `json:"k"`
	D     int    `json:"d"`
	N     int    `json:"n"`
	Plant string `json:"plant"`
	F     string `json:"f"`
	V     any    `json:"v"`
	TS    int64  `json:"ts"`
}

// Published gives the sums of the published streams, by number of events.
var Published = map[int]string{
	2_000:   "f1b340c3fb8915b303c72c1e802e34a1b611334539bcc2cf6459693d6a95bda2",
	10_000:  "a195a0b610b6a9d2419386a2aeba6594f799470a89492b2eac348059f8e84ed6",
	100_000: "90ed51446c4c18ba7cb1f13bfa10b6dc862476d281dba37ac56def4f75dcd86a",
}

// Write writes the stream in its published form.
func Write(w io.Writer, seed uint32, events int) error {
	g := NewGenerator(seed, events)
	enc := json.NewEncoder(w)
	for _, p := range g.Plants {
		if err := enc.Encode(plantLine{"plant", p.ID, p.Name, p.Place, p.Quarantine}); err != nil {
			return fmt.Errorf("write workload: %w", err)
		}
	}
	for r, ok := g.Next(); ok; r, ok = g.Next() {
		if err := enc.Encode(line(g, r)); err != nil {
			return fmt.Errorf("write workload: %w", err)
		}
	}
	return nil
}

// Sum is the SHA-256, in hex, of the stream in its published form. Two programs
// that make the same sum measure the same work.
func Sum(seed uint32, events int) (string, error) {
	h := sha256.New()
	err := Write(h, seed, events)
	return hex.EncodeToString(h.Sum(nil)), err
}

func line(g *Generator, r Record) any {
	plant := g.Plants[r.Plant].ID
	if e := r.Event; e != nil {
		return eventLine{"event", r.Device, r.N, e.ID, plant, fmt.Sprintf("person-%d", e.Observer), r.At, e.Part, e.Counts, e.Damage, e.Note, e.Photo}
	}
	l := editLine{K: "edit", D: r.Device, N: r.N, Plant: plant, F: r.Edit.Field, V: r.Edit.Text, TS: r.At}
	if r.Edit.Field == "quarantine" {
		l.V = r.Edit.Yes
	}
	return l
}
