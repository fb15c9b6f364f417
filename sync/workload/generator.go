package workload

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// DefaultSeed is the seed of the published stream.
const DefaultSeed = 20240229

// Devices is the number of devices that write.
const Devices = 4

// start is when the right clock begins, in Unix milliseconds, and skews is what
// each device's clock is off by: none, seven minutes fast, three hours slow, two
// days fast.
const start = 1709200000000

var skews = [Devices]int64{0, 7 * 60_000, -3 * 3_600_000, 2 * 86_400_000}

// Plant is a plant of the starting state.
type Plant struct {
	ID         string
	Name       string
	Place      string
	Quarantine bool
}

// Record is one event or edit.
type Record struct {
	Device int
	N      int   // counts a device's records from 0
	At     int64 // by the device's clock, Unix milliseconds
	Plant  int   // index into Plants
	Event  *Event
	Edit   *Edit
}

// Event is a look at a plant.
type Event struct {
	ID       string
	Observer int // from 1
	Part     string
	Counts   [4]int // by life stage
	Damage   int
	Note     string
	Photo    string // 64 hex digits, or ""
}

// Edit sets a field of a plant: Field is "name", "place" or "quarantine".
type Edit struct {
	Field string
	Text  string
	Yes   bool
}

var (
	syllables = strings.Fields("ba ce di fo gu ha je ki lo mu na pe ri so tu va we xi yo zu")
	parts     = strings.Fields("leaf_under leaf_upper stem node petiole growing_tip soil flower")
	fields    = strings.Fields("name place quarantine")
)

// Places are the names of the places where plants stand.
var Places = func() []string {
	out := make([]string, 24)
	for i := range out {
		out[i] = fmt.Sprintf("room %d shelf %d", i%8, 1+i>>3)
	}
	return out
}()

// Generator makes the stream. Every draw from the random numbers is in the order
// of the published stream: moving one changes everything after it.
type Generator struct {
	Plants []Plant

	random  mulberry32
	words   []string
	devices [Devices]struct {
		at int64
		n  int
	}
	turn    int     // whose turn it is, counted on
	events  int     // events still to come
	pending *Record // an edit that follows the event before it
}

// NewGenerator makes the stream of so many events.
func NewGenerator(seed uint32, events int) *Generator {
	g := &Generator{random: mulberry32{seed}, events: events}
	for range 400 {
		var w strings.Builder
		for range 1 + g.random.below(3) {
			w.WriteString(pick(&g.random, syllables))
		}
		g.words = append(g.words, w.String())
	}
	for range 200 {
		g.Plants = append(g.Plants, Plant{ID: g.random.uuid(), Name: g.twoWords(), Place: pick(&g.random, Places), Quarantine: g.random.unit() < 0.05})
	}
	for i := range g.devices {
		g.devices[i].at = start + skews[i]
	}
	return g
}

// Next gives the next record, or false at the end.
func (g *Generator) Next() (Record, bool) {
	if r := g.pending; r != nil {
		g.pending = nil
		return *r, true
	}
	if g.events == 0 {
		return Record{}, false
	}
	g.events--
	d := g.turn % Devices
	g.turn++
	r := g.event(d)
	if g.random.unit() < 0.05 {
		g.pending = g.edit(d)
	}
	return r, true
}

func (g *Generator) event(d int) Record {
	dev := &g.devices[d]
	if g.random.unit() < 0.02 { // bursts while watering, then days apart
		dev.at += 3_600_000 * int64(1+g.random.below(72))
	} else {
		dev.at += 1000 * int64(3+g.random.below(90))
	}
	r := Record{Device: d, N: dev.n, At: dev.at, Plant: int(math.Pow(g.random.unit(), 1.6) * float64(len(g.Plants)))}
	dev.n++
	e := &Event{ID: g.random.uuid(), Observer: d + 1}
	if g.random.unit() >= 0.9 {
		e.Observer = 1 + g.random.below(Devices)
	}
	e.Part = pick(&g.random, parts)
	for i, p := range [4]float64{0.35, 0.3, 0.15, 0.3} {
		e.Counts[i] = g.random.geometric(p)
	}
	e.Damage = min(5, g.random.geometric(0.4))
	if g.random.unit() < 0.25 {
		e.Note = g.note()
	}
	if g.random.unit() < 0.2 {
		e.Photo = g.random.hex(64)
	}
	r.Event = e
	return r
}

// edit sets a field of a plant; half of the edits hit twenty plants, so that
// devices certainly set the same ones.
func (g *Generator) edit(d int) *Record {
	dev := &g.devices[d]
	among := len(g.Plants)
	if g.random.unit() < 0.5 {
		among = 20
	}
	r := &Record{Device: d, N: dev.n, At: dev.at + 500, Plant: g.random.below(among)}
	dev.n++
	e := &Edit{Field: pick(&g.random, fields)}
	switch e.Field {
	case "name":
		e.Text = g.twoWords()
	case "place":
		e.Text = pick(&g.random, Places)
	default:
		e.Yes = g.random.unit() < 0.5
	}
	r.Edit = e
	return r
}

func (g *Generator) twoWords() string {
	first := pick(&g.random, g.words)
	return first + " " + pick(&g.random, g.words)
}

func (g *Generator) note() string {
	s := pick(&g.random, g.words)
	for len(s) < 60 {
		s += " " + pick(&g.random, g.words)
	}
	return strings.TrimRight(s[:60], " ")
}

// mulberry32 is a pseudo-random generator with 32 bits of state, chosen because
// every language can write it down alike.
type mulberry32 struct{ state uint32 }

func (m *mulberry32) next() uint32 {
	m.state += 0x6d2b79f5
	t := m.state
	t = (t ^ t>>15) * (t | 1)
	t ^= t + (t^t>>7)*(t|61)
	return t ^ t>>14
}

func (m *mulberry32) unit() float64 { return float64(m.next()) / (1 << 32) }

func (m *mulberry32) below(n int) int { return int(m.unit() * float64(n)) }

func (m *mulberry32) geometric(p float64) int {
	k := 0
	for m.unit() < p && k < 99 {
		k++
	}
	return k
}

func (m *mulberry32) hex(n int) string {
	var b strings.Builder
	for b.Len() < n {
		fmt.Fprintf(&b, "%08x", m.next())
	}
	return b.String()[:n]
}

// uuid is 32 random hex digits marked as version 4.
func (m *mulberry32) uuid() string {
	h := m.hex(32)
	variant, _ := strconv.ParseUint(h[16:17], 16, 8) // it is a hex digit
	return h[:8] + "-" + h[8:12] + "-4" + h[13:16] + "-" + string("89ab"[variant&3]) + h[17:20] + "-" + h[20:]
}

func pick[T any](m *mulberry32, xs []T) T { return xs[m.below(len(xs))] }
