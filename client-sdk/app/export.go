package app

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync/atomic"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// A plant's recovery can be taken along: the photos as they are kept, and tables of
// figures, treatments and new growth that any other program reads.

// packing is a recovery that is being put into a file.
type packing struct {
	plant    model.PlantID
	done, of int // photos
	stop     atomic.Bool
}

// packRecovery makes the file, unless one is being made.
func (a *App) packRecovery(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	if a.packing != nil || a.plantGone(plant) {
		return Answer{}
	}
	p := parcel{name: "leafturn-recovery-" + a.today().String() + ".zip", readme: a.t.Recovery.ReadMe}
	a.house.Read(func(b *model.Book) {
		p.shots, _ = a.shotsInTime(b, plant)
		p.marks = a.marks(b, plant)
		p.title = a.t.Common.Dotted(b.Plants[plant].Name, a.t.Format.Day(a.today()))
	})
	p.readme = append(p.readme[:len(p.readme):len(p.readme)], a.t.Measure.Unproven...)
	x := &packing{plant: plant, of: len(p.shots)}
	a.packing = x
	house, server := a.house, a.server
	fetch := func(s model.PhotoSum) ([]byte, string, error) { return house.PhotoBytes(ctx, server, s, 0) }
	answer := a.showPacking(x)
	answer.Work = func(tell func(func(context.Context) Answer)) {
		file, missing, err := p.pack(fetch, func(done int) bool {
			tell(func(context.Context) Answer { x.done = done; return a.showPacking(x) })
			return !x.stop.Load()
		})
		tell(func(context.Context) Answer { return a.packed(x, p.name, file, missing, err) })
	}
	return answer
}

func (a *App) plantGone(plant model.PlantID) (gone bool) {
	a.house.Read(func(b *model.Book) { gone = b.Plants[plant] == nil })
	return gone
}

func (a *App) showPacking(x *packing) Answer {
	v := screens.PackingView{Plant: x.plant.String(), Working: a.packing == x, Done: x.done, Of: x.of}
	return Answer{Swaps: []Swap{a.swap(screens.IDPacking, screens.Packing(a.t, v))}}
}

func (a *App) stopPacking(_ context.Context, _ Event) Answer {
	if a.packing != nil {
		a.packing.stop.Store(true)
	}
	return Answer{}
}

func (a *App) packed(x *packing, name string, file []byte, missing int, err error) Answer {
	if a.packing != x {
		return Answer{} // another household is open now
	}
	a.packing = nil
	answer := a.showPacking(x)
	switch {
	case errors.Is(err, errStopped):
	case err != nil:
		answer.Say = a.words(err)
	default:
		answer.Save = &Download{Name: name, Type: "application/zip", Bytes: file}
		if missing > 0 {
			answer.Say = a.t.Recovery.Missing(missing)
		}
	}
	return answer
}

// parcel is what goes into the file.
type parcel struct {
	name, title string
	shots       []shot
	marks       []screens.RecoveryMark
	readme      []string
}

var errStopped = errors.New("packing stopped")

// pack makes the file. After each photo it tells how many are done, and ends if it is
// told no. Photos that are not to be had are left out and counted.
func (p parcel) pack(fetch func(model.PhotoSum) ([]byte, string, error), tell func(done int) bool) (file []byte, missing int, err error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	names := make([]string, len(p.shots))
	for i, s := range p.shots {
		data, mime, err := fetch(s.sum)
		switch {
		case errors.Is(err, replica.ErrNoPhoto) || errors.Is(err, replica.ErrOffline):
			missing++
		case err != nil:
			return nil, 0, err
		default:
			names[i] = fmt.Sprintf("photos/%s-%02d%s", s.day, i+1, extension(mime))
			if err := p.put(z, names[i], s.day, data); err != nil {
				return nil, 0, err
			}
		}
		if !tell(i + 1) {
			return nil, 0, errStopped
		}
	}
	day := model.Date(0)
	if len(p.shots) > 0 {
		day = p.shots[len(p.shots)-1].day
	}
	for _, f := range []struct{ name, text string }{
		{"damage.csv", table(damageHead, p.damage(names))},
		{"events.csv", table(eventsHead, p.events())},
		{"read-me.txt", p.title + "\n\n" + strings.Join(p.readme, "\n") + "\n"},
	} {
		if err := p.put(z, f.name, day, []byte(f.text)); err != nil {
			return nil, 0, err
		}
	}
	err = z.Close()
	return out.Bytes(), missing, err
}

// put stores a file as it is: photos are compressed already, and the tables are short.
func (parcel) put(z *zip.Writer, name string, day model.Date, data []byte) error {
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store, Modified: day.UTC()})
	if err == nil {
		_, err = io.Copy(w, bytes.NewReader(data))
	}
	return err
}

var (
	damageHead = []string{"date", "photo", "damaged_percent", "low_percent", "high_percent", "method", "confidence_percent", "verdict"}
	eventsHead = []string{"date", "kind", "what"}
)

// verdicts are what a person said of a figure, as the table has it.
var verdicts = map[model.Verdict]string{model.Unchecked: "unchecked", model.Agreed: "agreed", model.Outlined: "outlined by hand", model.Rejected: "rejected"}

func (p parcel) damage(names []string) [][]string {
	var rows [][]string
	percent := func(n int) string { return strconv.FormatFloat(float64(min(max(n, 0), whole))/100, 'f', 2, 64) }
	for i, s := range p.shots {
		row := []string{s.day.String(), names[i], "", "", "", "", "", ""}
		if m := s.figure; m != nil {
			row = append(row[:2], percent(m.Damaged), percent(m.Damaged-m.Uncertain), percent(m.Damaged+m.Uncertain),
				strconv.Itoa(m.Method), strconv.Itoa(m.Confidence), verdicts[m.Verdict])
		}
		rows = append(rows, row)
	}
	return rows
}

func (p parcel) events() [][]string {
	var rows [][]string
	for _, m := range p.marks {
		kind := "treatment"
		if m.Good {
			kind = "new growth"
		}
		rows = append(rows, []string{m.Date.String(), kind, m.What})
	}
	return rows
}

// table is CSV (RFC 4180). A cell that a spreadsheet would take for a formula gets an
// apostrophe before it: names are what somebody typed.
func table(head []string, rows [][]string) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for _, row := range append([][]string{head}, rows...) {
		for i, cell := range row {
			if strings.IndexAny(cell, "=+-@\t\r") == 0 {
				row[i] = "'" + cell
			}
		}
		_ = w.Write(row) // a strings.Builder never fails
	}
	w.Flush()
	return b.String()
}
