package sample

import (
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// eachText visits every text of a table of words.
func eachText(v reflect.Value, name string, visit func(name string, text reflect.Value)) {
	switch v.Kind() {
	case reflect.String:
		visit(name, v)
	case reflect.Array:
		for i := range v.Len() {
			eachText(v.Index(i), name, visit)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			eachText(v.Field(i), name+"."+v.Type().Field(i).Name, visit)
		}
	}
}

func TestEnglishIsComplete(t *testing.T) {
	empty := map[string]int{}
	eachText(reflect.ValueOf(english), "", func(name string, text reflect.Value) {
		if text.Len() == 0 {
			empty[name]++
		}
	})
	require.Equal(t, map[string]int{".notes": 1}, empty, "only noNote says nothing")
	require.Empty(t, english.notes[noNote])
}

// Another table replaces every word that people read: no text of the household
// comes from elsewhere.
func TestAllWordsComeFromTheTable(t *testing.T) {
	const mark = "¤"
	marked := words{
		household: mark,
		members:   [members]string{mark, mark, mark}, phones: [members]string{mark, mark, mark},
	}
	for i := range marked.places {
		marked.places[i] = mark
	}
	for i := range marked.plants {
		marked.plants[i] = plantWords{mark, mark}
	}
	for i := range marked.products {
		marked.products[i] = productWords{mark, mark, mark, mark}
	}
	for i := range marked.notes {
		marked.notes[i] = mark
	}
	eachText(reflect.ValueOf(marked), "", func(name string, text reflect.Value) {
		require.Equal(t, mark, text.String(), "this test marks %s", name)
	})

	random := rand.NewChaCha8([32]byte{})
	o := replica.Options{Random: random, NewID: func() uuid.UUID { return uuid.Must(uuid.NewRandomFromReader(random)) }}
	kept := make([]picture, len(pictures))
	now := model.InstantOf(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	tale, err := imagine(o, now, "UTC", &marked, kept)
	require.NoError(t, err)
	for _, text := range texts(tale.authors[keeper].state.Book()) {
		require.Contains(t, []string{"", mark}, text)
	}
}

// texts gives every text that people put into the household. Its zone and the groups of
// products are left out: they are codes, the same in every language.
func texts(b *model.Book) []string {
	out := []string{b.Household.Name}
	for _, m := range b.Members {
		out = append(out, m.Name)
	}
	for _, d := range b.Devices {
		out = append(out, d.Name)
	}
	for _, p := range b.Places {
		out = append(out, p.Name)
	}
	for _, p := range b.Plants {
		out = append(out, p.Name, p.Species, p.Note)
	}
	for _, p := range b.Products {
		out = append(out, p.Name, p.Active, p.Pests, p.Cautions)
	}
	for _, o := range b.Outbreaks {
		out = append(out, o.Note)
	}
	for _, f := range b.Facts() {
		if v := reflect.ValueOf(f.Body).Elem().FieldByName("Note"); v.IsValid() {
			out = append(out, v.String())
		}
	}
	return out
}
