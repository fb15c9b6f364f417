package texts_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// catalogues is every language there is.
var catalogues = map[string]*texts.Catalogue{"en": texts.English()}

func TestCataloguesAreComplete(t *testing.T) {
	for lang, c := range catalogues {
		t.Run(lang, func(t *testing.T) {
			require.Equal(t, lang, c.Lang)
			require.Empty(t, missing(c))
		})
	}
}

// The check itself finds each kind of gap.
func TestMissingTextsAreFound(t *testing.T) {
	c := texts.English()
	c.Today.Done = " "
	c.Say.PutOff = nil
	c.Poison.Steps = nil
	delete(c.Words.Sign, model.FineWebbing)
	c.Words.Pest[model.PestScale] = ""
	require.ElementsMatch(t, []string{
		"Catalogue.Today.Done", "Catalogue.Say.PutOff", "Catalogue.Poison.Steps", "Catalogue.Words.Sign[8]", "Catalogue.Words.Pest[7]",
	}, missing(c))
}

// missing names every text that a catalogue lacks: empty strings, lists without
// lines, functions that are not there, constants without a word.
func missing(c *texts.Catalogue) []string {
	var out []string
	walk(reflect.ValueOf(*c), "Catalogue", func(path string) { out = append(out, path) })
	w := c.Words
	damage := []int{}
	for i := range texts.MostDamage + 1 {
		damage = append(damage, i)
	}
	for name, gaps := range map[string][]string{
		"Words.Part": lacks(w.Part, model.Parts), "Words.Sign": lacks(w.Sign, texts.Signs),
		"Words.Stage": lacks(w.Stage, texts.Stages), "Words.StageHint": lacks(w.StageHint, texts.Stages), "Words.Damage": lacks(w.Damage, damage),
		"Words.Role": lacks(w.Role, texts.Roles), "Words.RoleHint": lacks(w.RoleHint, texts.Roles),
		"Words.Means": lacks(w.Means, texts.Means), "Words.Aid": lacks(w.Aid, texts.Aids), "Words.Site": lacks(w.Site, texts.Sites), "Words.RateUnit": lacks(w.RateUnit, texts.RateUnits), "Words.Pest": lacks(w.Pest, model.Pests),
		"Words.Handling": lacks(w.Handling, texts.Handlings), "Words.PutOffReason": lacks(w.PutOffReason, texts.Reasons),
		"Words.Standing": lacks(w.Standing, texts.Standings), "Words.DueState": lacks(w.DueState, texts.DueStates), "Words.Rhythm": lacks(w.Rhythm, texts.Rhythms),
		"Cautions.Means": lacks(c.Cautions.Means, texts.Means), "LookAt.Pest": lacks(c.LookAt.Pest, model.Pests),
		"Photos.When": lacks(c.Photos.When, texts.Sendings), "Photos.On": lacks(c.Photos.On, texts.Networks),
		"Reminders.Push": lacks(c.Reminders.Push, texts.PushStates), "Clear.TrendStep": lacks(c.Clear.TrendStep, texts.TrendSteps),
	} {
		for _, key := range gaps {
			out = append(out, "Catalogue."+name+key)
		}
	}
	return out
}

func walk(v reflect.Value, path string, gap func(string)) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			walk(v.Field(i), path+"."+v.Type().Field(i).Name, gap)
		}
	case reflect.String:
		if strings.TrimSpace(v.String()) == "" {
			gap(path)
		}
	case reflect.Func:
		if v.IsNil() {
			gap(path)
		}
	case reflect.Slice:
		if v.Len() == 0 {
			gap(path)
		}
		for i := range v.Len() {
			walk(v.Index(i), path+"[]", gap)
		}
	}
}

// lacks is the keys that have no words, or only empty ones.
func lacks[K comparable, W any](words map[K]W, keys []K) (out []string) {
	for _, k := range keys {
		w, has := words[k]
		if empty := strings.Trim(fmt.Sprint(w), " []") == ""; !has || empty {
			out = append(out, fmt.Sprintf("[%v]", k))
		}
	}
	return out
}

// Calm words: no exclamation marks anywhere, also not in what functions say.
func TestWordsAreCalm(t *testing.T) {
	for lang, c := range catalogues {
		t.Run(lang, func(t *testing.T) {
			said := 0
			each(reflect.ValueOf(*c), func(s string) {
				said++
				require.NotContains(t, s, "!")
				require.NotContains(t, s, "%!", "a broken format")
			})
			require.Greater(t, said, 300)
		})
	}
}

// each visits every string, and what every function says for plain arguments.
func each(v reflect.Value, visit func(string)) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			each(v.Field(i), visit)
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			each(v.MapIndex(k), visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			each(v.Index(i), visit)
		}
	case reflect.Func:
		args := make([]reflect.Value, v.Type().NumIn())
		for i := range args {
			args[i] = reflect.Zero(v.Type().In(i))
		}
		each(v.Call(args)[0], visit)
	case reflect.String:
		visit(v.String())
	}
}

// What lies ahead is said no more exactly than it is known.
func TestEnglishChances(t *testing.T) {
	a := texts.English().Ahead
	for _, c := range []struct{ name, want, got string }{
		{"never", "0%", a.Percent(0)},
		{"hardly ever", "under 1%", a.Percent(0.002)},
		{"a third", "33%", a.Percent(1. / 3)},
		{"nearly sure", "over 99%", a.Percent(0.9999)},
		{"sure", "100%", a.Percent(1)},
		{"aim", "very likely", a.Chance(0.95)},
		{"just below", "likely", a.Chance(0.949)},
		{"even", "about even", a.Chance(0.5)},
		{"no chance", "very unlikely", a.Chance(0)},
		{"none", "0", a.Number(0)},
		{"below ten", "3.4", a.Number(3.42)},
		{"below a hundred", "57", a.Number(57.3)},
		{"hundreds", "870", a.Number(873)},
		{"thousands", "1,300", a.Number(1284)},
		{"many", "1,200,000", a.Number(1_234_567)},
		{"warmth", "18.5 °C", a.Celsius(185)},
		{"frost", "-5 °C", a.Celsius(-50)},
		{"weekday", "Wed", a.Weekday(3)},
		{"axis", "25 Nov", a.DayMonth(25, 11)},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, c.got) })
	}
}

func TestEnglishFormats(t *testing.T) {
	f := texts.English().Format
	wed := model.DateOf(2026, 11, 25)
	for _, c := range []struct{ name, want, got string }{
		{"day", "Wed 25 Nov", f.Day(wed)},
		{"long day", "Wednesday 25 November", f.DayLong(wed)},
		{"today", "today", f.DayNear(wed, wed)},
		{"tomorrow", "tomorrow", f.DayNear(wed.Add(1), wed)},
		{"yesterday", "yesterday", f.DayNear(wed.Add(-1), wed)},
		{"other day", "Fri 27 Nov", f.DayNear(wed.Add(2), wed)},
		{"clock", "07:05", f.Clock(7, 5)},
		{"millilitres", "360 ml", f.Ml(360)},
		{"litres", "1.25 l", f.Ml(1250)},
		{"rate", "7.5 ml per litre", f.Rate(model.RateMlPerLitre, 7500)},
		{"rate in grams", "2 g per litre", f.Rate(model.RateGramPerLitre, 2000)},
		{"ready to use", "Ready to use", f.Rate(model.RateReady, 0)},
		{"stock", "28.8 ml", f.Stock(model.RateMlPerLitre, 28800)},
		{"bytes", "812 kB", f.Bytes(812_000)},
		{"megabytes", "21.4 MB", f.Bytes(21_400_000)},
		{"no names", "", f.List(nil)},
		{"one name", "Basil", f.List([]string{"Basil"})},
		{"three names", "Basil, Mint and Parsley", f.List([]string{"Basil", "Mint", "Parsley"})},
		{"one plant", "1 plant", f.Plants(1)},
		{"no plants", "0 plants", f.Plants(0)},
		{"counts", "4 young and 1 adult", f.Counts(model.Counts{0, 4, 0, 1})},
		{"no counts", "", f.Counts(model.Counts{})},
		{"signs", "pale speckling and black specks", f.Signs(model.PaleSpeckling | model.BlackSpecks)},
		{"finding", "Underside: pale speckling; 4 young", f.Finding("Underside", "pale speckling", "4 young")},
		{"finding by count", "Soil: 2 adults", f.Finding("Soil", "", "2 adults")},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, c.got) })
	}
}
