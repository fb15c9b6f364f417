package app

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// diary is a phone with the sample household, and a clock that only the test moves.
type diary struct {
	*App
	t    testing.TB
	wall time.Time
}

func newDiary(t testing.TB) *diary {
	d := &diary{t: t, wall: time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)}
	random := rand.NewChaCha8([32]byte{7})
	d.App = New(Options{
		Main: memvault.New(), Sample: memvault.New(), Transport: &cable{out: true}, Version: "test", Darkroom: darkroom{},
		Replica: replica.Options{Wall: func() int64 { return d.wall.UnixMilli() }, Random: random, NewID: func() uuid.UUID { return uuid.Must(uuid.NewRandomFromReader(random)) }},
		File: func(_ context.Context, path string) ([]byte, error) {
			return os.ReadFile(filepath.Join("..", "web", filepath.FromSlash(path)))
		},
	})
	d.Start(t.Context(), Env{Zone: "Europe/Berlin", East: 3600}, "")
	d.do(screens.ActSample)
	return d
}

func (d *diary) do(action string, fields ...string) Answer {
	return d.Do(d.t.Context(), Event{Do: action, Data: dataOf(fields)})
}

// shown is what an address shows.
func (d *diary) shown(hash string) string { return d.Go(d.t.Context(), hash).Swaps[0].HTML }

// plants are the ids of the sample's plants.
func (d *diary) plants() (out []string) {
	d.house.Read(func(b *model.Book) {
		for _, p := range plantsAt(b, orderedPlaces(b)[0].ID) {
			out = append(out, p.ID.String())
		}
	})
	require.Greater(d.t, len(out), 1)
	return out
}

var dayHead = regexp.MustCompile(`<h3>([^<]+)</h3>`)

// daysIn are the days of a timeline, as they are written.
func daysIn(html string) (out []string) {
	for _, m := range dayHead.FindAllStringSubmatch(html, -1) {
		out = append(out, m[1])
	}
	return out
}

// A plant's past comes a page at a time, the newest first, each day once and whole, and
// is as long as before when the page is drawn again.
func TestAPlantsPastComesAsOneScrolls(t *testing.T) {
	p := newDiary(t)
	fern, other := p.plants()[0], p.plants()[1]
	const days = 3 * storyPage / 2
	for range days {
		p.wall = p.wall.Add(24 * time.Hour)
		p.do(screens.ActNothingFound, "plant", fern)
		p.do(screens.ActNothingFound, "plant", fern)
	}
	page := p.shown(screens.PlantRoute(fern))
	require.Len(t, daysIn(page), storyPage/2)
	require.Contains(t, page, `id="`+screens.IDOlder+`"`)
	all := daysIn(page)
	for more := true; more; {
		answer := p.do(screens.ActOlder, "plant", fern)
		require.Len(t, answer.Swaps, 1)
		require.Equal(t, screens.IDOlder, answer.Swaps[0].Target)
		require.True(t, answer.Swaps[0].Outer, "the button gives way to what it asked for")
		next := daysIn(answer.Swaps[0].HTML)
		require.NotEmpty(t, next)
		all = append(all, next...)
		more = strings.Contains(answer.Swaps[0].HTML, `id="`+screens.IDOlder+`"`)
		require.Less(t, len(all), 2*days)
	}
	require.GreaterOrEqual(t, len(all), days, "and what the sample had before")
	once := map[string]bool{}
	for _, day := range all {
		require.False(t, once[day], day)
		once[day] = true
	}
	require.Equal(t, all, daysIn(p.shown(screens.PlantRoute(fern))), "nothing is folded up again")
	require.Empty(t, p.do(screens.ActOlder, "plant", "nobody").Swaps)

	p.shown(screens.PlantRoute(other))
	require.Len(t, daysIn(p.shown(screens.PlantRoute(fern))), storyPage/2, "after another plant it begins anew")
}

// Entries of other years say so.
func TestAnOldDayHasItsYear(t *testing.T) {
	p := newDiary(t)
	fern := p.plants()[0]
	p.do(screens.ActNothingFound, "plant", fern)
	then := p.today()
	require.Equal(t, p.App.t.Format.Day(then), daysIn(p.shown(screens.PlantRoute(fern)))[0])
	p.wall = p.wall.Add(7 * 365 * 24 * time.Hour)
	require.Equal(t, then.UTC().Format("Mon 2 Jan 2006"), daysIn(p.shown(screens.PlantRoute(fern)))[0])
}
