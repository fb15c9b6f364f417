package app

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// unpacked are the files of a ZIP by name.
func unpacked(t *testing.T, file []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	out := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err, "its checksum is right")
		out[f.Name] = string(data)
	}
	return out
}

func rows(t *testing.T, text string) [][]string {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	return all
}

func TestRecoveryIsPacked(t *testing.T) {
	p, sum := pictured(t, "photos/leaf-spotted-1.jpg")
	fern := p.plant("Fern")
	p.open(screens.MeasureRoute(sum))
	p.do(screens.ActNoteMeasure, "sum", sum, "agree", "1")
	p.snap(fern, photoFile(t, "photos/leaf-spotted-2.jpg"))
	p.do(screens.ActSaveFinding, "plant", fern, "growing", "1")
	p.open(screens.RecoveryRoute(fern))
	var saved *Download
	var seen []string
	answer := p.Do(context.Background(), Event{Do: screens.ActPack, Data: dataOf([]string{"plant", fern})})
	p.show(Answer{Swaps: answer.Swaps})
	require.Contains(t, p.page[screens.IDPacking], "Packing: 0 of 2 photos")
	require.Empty(t, p.do(screens.ActPack, "plant", fern), "one after the other")
	answer.Work(func(do func(context.Context) Answer) {
		a := do(context.Background())
		p.show(a)
		seen = append(seen, p.page[screens.IDPacking])
		if a.Save != nil {
			saved = a.Save
		}
	})
	require.Contains(t, seen[1], "Packing: 2 of 2 photos")
	require.Contains(t, seen[2], p.App.t.Recovery.Pack)
	require.NotNil(t, saved)
	require.Equal(t, "leafturn-recovery-"+p.today().String()+".zip", saved.Name)

	files := unpacked(t, saved.Bytes)
	require.Len(t, files, 5)
	m := p.measurements()[0]
	table := rows(t, files["damage.csv"])
	require.Equal(t, damageHead, table[0])
	require.Len(t, table, 3)
	require.Equal(t, "agreed", table[1][7])
	require.Equal(t, "", table[2][2], "nobody measured the second one")
	for i, want := range []string{sum, ""} {
		data, ok := files[table[1+i][1]]
		require.True(t, ok, "the table names the photo's file")
		if want != "" {
			require.Equal(t, want, model.PhotoSum(sha256.Sum256([]byte(data))).String(), "the photo is as it was kept")
		}
	}
	require.Regexp(t, `^3\.\d\d$`, table[1][2])
	require.Equal(t, "1", table[1][5])
	require.NotZero(t, m.Uncertain)
	require.Equal(t, []string{p.today().String(), "new growth", p.App.t.Recovery.Growing}, rows(t, files["events.csv"])[1])
	require.Contains(t, files["read-me.txt"], "Pale stippling", "what the figures are not worth goes with them")
}

func TestPacking(t *testing.T) {
	one := shot{sum: model.PhotoSum{1}, day: 20_781}
	two := shot{sum: model.PhotoSum{2}, day: 20_782, figure: &model.Measurement{Method: 2, Damaged: 50, Uncertain: 80, Confidence: 70, Verdict: model.Rejected}}
	p := parcel{shots: []shot{one, two}, marks: []screens.RecoveryMark{{Date: 20_781, What: `=1+1, "quoted"`}}}
	lacksOne := func(s model.PhotoSum) ([]byte, string, error) {
		if s == one.sum {
			return nil, "", replica.ErrNoPhoto
		}
		return []byte("photo"), "image/png", nil
	}
	always := func(int) bool { return true }
	file, missing, err := p.pack(lacksOne, always)
	require.NoError(t, err)
	require.Equal(t, 1, missing)
	files := unpacked(t, file)
	damage := rows(t, files["damage.csv"])
	require.Equal(t, "", damage[1][1], "a photo that is not there is not named")
	require.Equal(t, []string{two.day.String(), "photos/" + two.day.String() + "-02.png", "0.50", "0.00", "1.30", "2", "70", "rejected"}, damage[2])
	require.Equal(t, `'=1+1, "quoted"`, rows(t, files["events.csv"])[1][2], "no formula")

	again, _, err := p.pack(lacksOne, always)
	require.NoError(t, err)
	require.Equal(t, file, again, "the same recovery is the same file")

	_, _, err = p.pack(lacksOne, func(done int) bool { return done < 1 })
	require.ErrorIs(t, err, errStopped)
	broken := errors.New("broken")
	_, _, err = p.pack(func(model.PhotoSum) ([]byte, string, error) { return nil, "", broken }, always)
	require.ErrorIs(t, err, broken)
	file, _, err = parcel{}.pack(lacksOne, always)
	require.NoError(t, err)
	require.Len(t, unpacked(t, file), 3)
}

func TestPackingStops(t *testing.T) {
	p, _ := pictured(t, "photos/leaf-spotted-1.jpg")
	fern := p.plant("Fern")
	answer := p.Do(context.Background(), Event{Do: screens.ActPack, Data: dataOf([]string{"plant", fern})})
	p.do(screens.ActStopPacking)
	answer.Work(func(do func(context.Context) Answer) {
		a := p.show(do(context.Background()))
		require.Nil(t, a.Save)
	})
	require.Nil(t, p.packing)
	require.Contains(t, p.page[screens.IDPacking], p.App.t.Recovery.Pack)
}
