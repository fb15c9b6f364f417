package app

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
)

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
	p := alone(t).phone()
	p.do(screens.ActSample)
	fern := p.value(`#/plant/([0-9a-f-]{36})`)
	const days = 3 * storyPage / 2
	for range days {
		p.w.pass(24 * time.Hour)
		p.do(screens.ActNothingFound, "plant", fern)
		p.do(screens.ActNothingFound, "plant", fern)
	}
	page := p.open(screens.PlantRoute(fern))
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
	require.Equal(t, all, daysIn(p.open(screens.PlantRoute(fern))), "nothing is folded up again")
	require.Empty(t, p.do(screens.ActOlder, "plant", "nobody").Swaps)

	other := regexp.MustCompile(`#/plant/([0-9a-f-]{36})`).FindAllStringSubmatch(p.open(screens.RoutePlants), -1)
	for _, m := range other {
		if m[1] != fern {
			p.open(screens.PlantRoute(m[1]))
			break
		}
	}
	require.Len(t, daysIn(p.open(screens.PlantRoute(fern))), storyPage/2, "after another plant it begins anew")
}

// Entries of other years say so.
func TestAnOldDayHasItsYear(t *testing.T) {
	p := alone(t).phone()
	p.do(screens.ActSample)
	fern := p.value(`#/plant/([0-9a-f-]{36})`)
	p.do(screens.ActNothingFound, "plant", fern)
	then := p.today()
	require.Equal(t, p.App.t.Format.Day(then), daysIn(p.open(screens.PlantRoute(fern)))[0])
	p.w.pass(7 * 365 * 24 * time.Hour)
	require.Equal(t, then.UTC().Format("Mon 2 Jan 2006"), daysIn(p.open(screens.PlantRoute(fern)))[0])
}
