package rotation_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/rotation"
)

func table(t *testing.T) [][]string {
	file, err := os.Open("../../testdata/published/treatments-rotation.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// Each printed figure is a day or a number at which the default rule must change
// its mind. Sources: testdata/published/treatments.md.
func TestPublishedRotation(t *testing.T) {
	checks := map[string]func(t *testing.T, v int){
		"rotate_after_min":   changeIsDueFrom,
		"generation_min":     changeIsDueFrom,
		"rotate_after_max":   changeIsOverdueFrom,
		"generation_max":     changeIsOverdueFrom,
		"most_in_row":        inRowUpTo,
		"spray_interval_min": threeSpraysApart,
		"spray_interval_max": threeSpraysApart,
	}
	n := 0
	for _, r := range table(t) {
		if check, ok := checks[r[1]]; ok {
			n++
			v, err := strconv.Atoi(r[2])
			require.NoError(t, err)
			t.Run(r[0]+"/"+r[1], func(t *testing.T) { check(t, v) })
		}
	}
	require.Equal(t, 7, n)
}

func changeIsDueFrom(t *testing.T, day int) {
	require.Empty(t, found(t, sprays("5", 0, day-1)))
	require.Equal(t, []rotation.Kind{rotation.ChangeDue}, found(t, sprays("5", 0, day)))
}

func changeIsOverdueFrom(t *testing.T, day int) {
	require.Equal(t, []rotation.Kind{rotation.ChangeDue}, found(t, sprays("5", 0, day-1)))
	require.Equal(t, []rotation.Kind{rotation.SameGroupAgain}, found(t, sprays("5", 0, day)))
}

func inRowUpTo(t *testing.T, most int) {
	var days []int
	for i := range most {
		days = append(days, i)
	}
	require.Empty(t, found(t, sprays("5", days...)))
	require.Equal(t, []rotation.Kind{rotation.TooManyInRow}, found(t, sprays("5", append(days, most)...)))
}

// In an outbreak three sprays of one group that far apart are one turn.
func threeSpraysApart(t *testing.T, days int) {
	require.Empty(t, found(t, sprays("5", 0, days, 2*days)))
}

func TestPracticeRotation(t *testing.T) {
	for _, r := range table(t) {
		if r[0] != "common practice" {
			continue
		}
		t.Run(r[1], func(t *testing.T) {
			months, err := strconv.ParseFloat(r[2], 64)
			require.NoError(t, err)
			u, err := rotation.UseOf(&model.Product{Means: model.MeansSystemicSoil, Group: "4A"}, 100)
			require.NoError(t, err)
			require.InDelta(t, months*365.25/12, float64(u.Protects), 1)
		})
	}
}

func sprays(group string, days ...int) []rotation.Use {
	var all []rotation.Use
	for _, d := range days {
		all = append(all, use(group, d))
	}
	return all
}

func use(group string, day int) rotation.Use {
	groups, err := rotation.ParseGroups(group, "")
	if err != nil {
		panic(err)
	}
	return rotation.Use{Day: model.Date(20000 + day), Groups: groups}
}

func systemic(group string, day int) rotation.Use {
	u := use(group, day)
	u.Systemic, u.Protects = true, rotation.CommonProtection
	return u
}

func found(t require.TestingT, uses []rotation.Use) []rotation.Kind {
	all, err := rotation.Check(rotation.DefaultRule(), uses)
	require.NoError(t, err)
	var kinds []rotation.Kind
	for _, f := range all {
		kinds = append(kinds, f.Kind)
	}
	return kinds
}

// The rule in cases worked by hand, with windows of 14 to 21 days.
func TestRule(t *testing.T) {
	type kinds = []rotation.Kind
	for name, c := range map[string]struct {
		uses []rotation.Use
		want kinds
	}{
		"two groups by turns":                  {append(sprays("5", 0, 7), append(sprays("3A", 14, 21), sprays("5", 28, 35)...)...), nil},
		"back too early":                       {append(sprays("5", 0, 7), append(sprays("3A", 14), sprays("5", 22)...)...), kinds{rotation.SameGroupAgain}},
		"rest counts from the last use":        {sprays("5", 0, 20, 30), kinds{rotation.ChangeDue, rotation.SameGroupAgain}},
		"rest after a long turn":               {sprays("5", 0, 20, 35), kinds{rotation.ChangeDue}},
		"sub-groups are one group":             {append(sprays("4A", 0), sprays("4C", 21)...), kinds{rotation.SameGroupAgain}},
		"different unknown ones":               {[]rotation.Use{named("UN", "azadirachtin", 0), named("UNE", "neem oil", 21)}, nil},
		"the same unknown one":                 {[]rotation.Use{named("UN", "Azadirachtin", 0), named("UN", " azadirachtin ", 21)}, kinds{rotation.SameGroupAgain}},
		"soap does not interrupt a row":        {append(sprays("5", 0, 3), append(sprays("", 4), sprays("5", 6, 9)...)...), kinds{rotation.TooManyInRow}},
		"soap does not use up a turn":          {sprays("", 0, 7, 14, 21, 28, 35), nil},
		"soap fills the window of rest":        {append(sprays("5", 0, 7), append(sprays("", 14, 21), sprays("5", 28)...)...), nil},
		"another group interrupts a row":       {append(sprays("5", 0, 2), append(sprays("3A", 4), sprays("5", 6, 8)...)...), nil},
		"a mixture is in both rows":            {append(sprays("5", 0, 2, 4), sprays("3A + 5", 6)...), kinds{rotation.TooManyInRow}},
		"a year later it is new":               {append(sprays("5", 0, 3, 6), sprays("5", 370, 373, 376)...), nil},
		"a spray of the systemic's group":      {[]rotation.Use{systemic("4A", 0), use("4A", 40)}, nil},
		"its group right after it":             {[]rotation.Use{systemic("4A", 0), use("4A", 62)}, kinds{rotation.SameGroupAgain}},
		"its group after a window":             {[]rotation.Use{systemic("4A", 0), use("5", 62), use("4A", 75)}, nil},
		"two systemics in a row":               {[]rotation.Use{systemic("4A", 0), systemic("4A", 60)}, kinds{rotation.SystemicAgain}},
		"two systemics of different groups":    {[]rotation.Use{systemic("4A", 0), systemic("23", 62)}, kinds{rotation.SystemicAgain}},
		"a systemic after one and a window":    {[]rotation.Use{systemic("4A", 0), use("5", 62), systemic("4A", 75)}, nil},
		"still the same group three times off": {sprays("5", 0, 21, 42), kinds{rotation.SameGroupAgain, rotation.SameGroupAgain}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, []rotation.Kind(found(t, c.uses))) })
	}
}

func named(group, ingredient string, day int) rotation.Use {
	groups, err := rotation.ParseGroups(group, ingredient)
	if err != nil {
		panic(err)
	}
	return rotation.Use{Day: model.Date(20000 + day), Groups: groups}
}

func TestFindingSaysWhatItRestsOn(t *testing.T) {
	all, err := rotation.Check(rotation.DefaultRule(), sprays("5", 0, 7, 22))
	require.NoError(t, err)
	require.Equal(t, []rotation.Finding{{Kind: rotation.SameGroupAgain, Group: rotation.Group{Number: 5}, Use: 2, Earlier: 1, Days: 22, Until: 20028}}, all)
	require.Equal(t, rotation.Warning, rotation.Worst(all))
	all, err = rotation.Check(rotation.DefaultRule(), []rotation.Use{systemic("4A", 0), systemic("4A", 30)})
	require.NoError(t, err)
	require.Equal(t, rotation.Hard, rotation.Worst(all))
	require.Equal(t, model.Date(20000+61+14), all[0].Until)
	require.Zero(t, rotation.Worst(nil))
}

// A copy of a ledger tries a use without writing it down.
func TestLedgerIsAValue(t *testing.T) {
	l, err := rotation.NewLedger(rotation.DefaultRule())
	require.NoError(t, err)
	for _, u := range sprays("5", 0, 3, 6) {
		_, err = l.Add(nil, u)
		require.NoError(t, err)
	}
	for range 3 {
		try := l
		all, err := try.Add(nil, use("5", 9))
		require.NoError(t, err)
		require.Len(t, all, 1)
		require.Equal(t, 4, all[0].Count)
	}
}

func TestParseGroups(t *testing.T) {
	for label, want := range map[string][]rotation.Group{
		"":              nil,
		"none":          nil,
		"none assigned": nil,
		"4A":            {{Number: 4}},
		" group 4 c ":   {{Number: 4}},
		"IRAC Group 5":  {{Number: 5}},
		"11A":           {{Number: 11}},
		"3A + 28":       {{Number: 3}, {Number: 28}},
		"UNF":           {{Ingredient: "beauveria bassiana"}},
	} {
		t.Run(label, func(t *testing.T) {
			got, err := rotation.ParseGroups(label, "Beauveria  bassiana")
			require.NoError(t, err)
			require.Equal(t, want, got)
		})
	}
	for _, bad := range []string{"four", "4AA", "123", "0", "A4", "UNKNOWN", "²"} {
		_, err := rotation.ParseGroups(bad, "")
		require.ErrorIs(t, err, rotation.ErrGroup, bad)
	}
	nameless, err := rotation.ParseGroups("UNE", "")
	require.NoError(t, err)
	require.Equal(t, []rotation.Group{{Ingredient: "une"}}, nameless)
}

func TestUseOf(t *testing.T) {
	for name, c := range map[string]struct {
		p          model.Product
		notEntered bool
		systemic   bool
	}{
		"soap has no group":         {model.Product{Means: model.MeansSoap}, false, false},
		"water has none":            {model.Product{Means: model.MeansWater}, false, false},
		"a spray must have one":     {model.Product{Means: model.MeansContactSpray}, true, false},
		"or say that it has none":   {model.Product{Means: model.MeansContactSpray, Group: "none"}, false, false},
		"a systemic must have one":  {model.Product{Means: model.MeansSystemicSoil}, true, true},
		"a systemic that has a one": {model.Product{Means: model.MeansSystemicSoil, Group: "4A"}, false, true},
	} {
		t.Run(name, func(t *testing.T) {
			u, err := rotation.UseOf(&c.p, 7)
			require.NoError(t, err)
			require.Equal(t, c.notEntered, u.NotEntered)
			require.Equal(t, c.systemic, u.Systemic)
			kinds := found(t, []rotation.Use{u})
			require.Equal(t, c.notEntered, len(kinds) == 1)
		})
	}
	_, err := rotation.UseOf(&model.Product{Group: "?"}, 7)
	require.ErrorIs(t, err, rotation.ErrGroup)
}

func TestForGeneration(t *testing.T) {
	r, err := rotation.ForGeneration(7.9, 12.1)
	require.NoError(t, err)
	require.Equal(t, rotation.Window{Min: 7, Max: 13}, r.Window)
	all, err := rotation.Check(r, sprays("5", 0, 13))
	require.NoError(t, err)
	require.Equal(t, rotation.SameGroupAgain, all[0].Kind)
	zero := 0.0
	for _, bad := range [][2]float64{{0, 5}, {9, 8}, {5, 401}, {zero / zero, 9}, {5, zero / zero}} {
		_, err := rotation.ForGeneration(bad[0], bad[1])
		require.ErrorIs(t, err, rotation.ErrRule)
	}
	_, err = rotation.Check(rotation.Rule{}, nil)
	require.ErrorIs(t, err, rotation.ErrRule)
	_, err = rotation.Check(rotation.DefaultRule(), sprays("5", 9, 3))
	require.ErrorIs(t, err, rotation.ErrOrder)
}

func drawUses(t *rapid.T) []rotation.Use {
	day := 0
	var all []rotation.Use
	for range rapid.IntRange(0, 25).Draw(t, "uses") {
		day += rapid.IntRange(0, 30).Draw(t, "days")
		u := use(rapid.SampledFrom([]string{"", "5", "3A", "4A", "4C", "28", "3A + 5"}).Draw(t, "group"), day)
		if rapid.IntRange(0, 9).Draw(t, "kind") == 0 {
			u.Systemic, u.Protects = true, 61
		}
		all = append(all, u)
	}
	return all
}

// Things without a group change nothing, wherever they stand.
func TestGrouplessIsInvisible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		uses := drawUses(t)
		var mixed []rotation.Use
		for _, u := range uses {
			if rapid.Bool().Draw(t, "soap") {
				mixed = append(mixed, rotation.Use{Day: u.Day})
			}
			mixed = append(mixed, u)
		}
		require.Equal(t, found(t, uses), found(t, mixed))
	})
}

// Only the number counts, so giving every use another letter changes nothing.
func TestLettersDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := 0
		var plain, lettered []rotation.Use
		for range rapid.IntRange(0, 20).Draw(t, "uses") {
			day += rapid.IntRange(0, 30).Draw(t, "days")
			n := rapid.SampledFrom([]string{"3", "4", "5"}).Draw(t, "n")
			plain = append(plain, use(n, day))
			lettered = append(lettered, use(n+rapid.SampledFrom([]string{"", "A", "B", "C"}).Draw(t, "letter"), day))
		}
		require.Equal(t, found(t, plain), found(t, lettered))
	})
}

// Uses of a group with a whole window of rest between turns of three are never
// held against anybody, at any length of generation.
func TestTurnsWithRestAreFree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shortest := rapid.IntRange(3, 100).Draw(t, "shortest")
		r, err := rotation.ForGeneration(float64(shortest), float64(shortest+rapid.IntRange(0, 20).Draw(t, "band")))
		require.NoError(t, err)
		var uses []rotation.Use
		day := 0
		for range rapid.IntRange(1, 6).Draw(t, "turns") {
			for i := range rapid.IntRange(1, 3).Draw(t, "in row") {
				uses = append(uses, use("5", day+i))
			}
			day += r.Window.Max + r.Window.Min
		}
		all, err := rotation.Check(r, uses)
		require.NoError(t, err)
		require.Empty(t, all)
	})
}

func FuzzLedger(f *testing.F) {
	f.Add("4A + UN", "azadirachtin", []byte{0, 7, 14, 61})
	f.Fuzz(func(t *testing.T, label, ingredient string, days []byte) {
		groups, err := rotation.ParseGroups(label, ingredient)
		if err != nil {
			require.ErrorIs(t, err, rotation.ErrGroup)
			return
		}
		l, err := rotation.NewLedger(rotation.DefaultRule())
		require.NoError(t, err)
		day := model.Date(20000)
		for i, d := range days {
			day += model.Date(d)
			all, err := l.Add(nil, rotation.Use{Day: day, Groups: groups, Systemic: i%5 == 4, Protects: int(d)})
			if err != nil {
				require.ErrorIs(t, err, rotation.ErrRule)
				continue
			}
			for _, f := range all {
				require.LessOrEqual(t, f.Earlier, f.Use)
				require.True(t, f.Until == 0 || f.Until > day)
			}
		}
	})
}

func BenchmarkLedger(b *testing.B) {
	uses := append(sprays("5", 0, 5, 10), append(sprays("3A", 15, 20, 25), append(sprays("28", 30, 35), systemic("4A", 40))...)...)
	room := make([]rotation.Finding, 0, 32)
	b.ReportAllocs()
	for b.Loop() {
		l, _ := rotation.NewLedger(rotation.DefaultRule())
		to := room
		for _, u := range uses {
			to, _ = l.Add(to, u)
		}
	}
}
