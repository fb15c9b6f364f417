package screens_test

import (
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

var payloads = []string{
	`<script>alert(1)</script>`, `<img src=x onerror=alert(1)>`, `"><script>alert(1)</script>`, `'><img src=x onerror=alert(1)>`,
	`" onmouseover="alert(1)`, `' onfocus='alert(1)' autofocus='`, `javascript:alert(1)`, `JaVaScRiPt:alert(1)`, ` javascript:alert(1)`, "java\tscript:alert(1)",
	`data:text/html,<script>alert(1)</script>`, `<svg/onload=alert(1)>`, `<svg><animate onbegin=alert(1)>`, `</textarea><script>alert(1)</script>`,
	`</title><script>alert(1)</script>`, `<!--<img src="--><img src=x onerror=alert(1)>`, `<iframe srcdoc="<script>alert(1)</script>">`, `<a href="javascript:alert(1)">x</a>`,
	`<form action=https://evil.example><input name=secret>`, `<style>@import 'https://evil.example'</style>`, `<link rel=stylesheet href=https://evil.example>`,
	`<meta http-equiv=refresh content="0;url=https://evil.example">`, `<base href=https://evil.example>`, `<button data-do="drop-upload" data-upload="1">x</button>`,
	`&lt;script&gt;alert(1)&lt;/script&gt;`, `&#60;script&#62;`, "<scr\x00ipt>alert(1)</scr\x00ipt>", `<math><mtext></form><form><mglyph><style></math><img src onerror=alert(1)>`,
	`{{constructor.constructor('alert(1)')()}}`, "`-alert(1)-`", `"/><details open ontoggle=alert(1)>`, `//evil.example/%2e%2e`,
}

// drawing makes a screen from a view that is filled by reflection, with all its
// switches on, and again with all off.
func drawing[V any](draw func(*texts.Catalogue, V) h.Node) func(payload string) h.Node {
	return func(payload string) h.Node {
		var on, off V
		n := 0
		fill(reflect.ValueOf(&on).Elem(), payload, &n, true)
		fill(reflect.ValueOf(&off).Elem(), payload, &n, false)
		return h.Group{draw(t0, on), draw(t0, off)}
	}
}

// fill puts the payload into every text of a view, with one number per text so
// that ids stay apart, and one element into every list.
func fill(v reflect.Value, payload string, n *int, on bool) {
	switch v.Kind() {
	case reflect.String:
		*n++
		v.SetString(payload + strconv.Itoa(*n))
	case reflect.Bool:
		v.SetBool(on)
	case reflect.Int:
		v.SetInt(2)
	case reflect.Uint8, reflect.Uint32:
		v.SetUint(1)
	case reflect.Int32: // days apart from one another
		*n++
		v.SetInt(int64(20000 + *n))
	case reflect.Float64:
		v.SetFloat(0.4)
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), payload, n, on)
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), payload, n, on)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(v.Index(i), payload, n, on)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), payload, n, on)
		}
	}
}

var drawings = map[string]func(string) h.Node{
	"bar": drawing(screens.Bar), "welcome": drawing(screens.Welcome), "join": drawing(screens.Join), "first": drawing(screens.First),
	"today": drawing(screens.Today), "task": drawing(screens.TaskCard), "confirm": drawing(screens.Confirm),
	"rounds": drawing(screens.Rounds), "step": drawing(screens.Step), "wash": drawing(screens.Wash), "rounddone": drawing(screens.RoundDone),
	"finding": drawing(screens.Finding), "after": drawing(screens.After),
	"plants": drawing(screens.Plants), "plantlist": drawing(screens.PlantList), "plantform": drawing(screens.PlantForm), "plant": drawing(screens.Plant), "photo": drawing(screens.PhotoScreen),
	"outbreaks": drawing(screens.Outbreaks), "outbreak": drawing(screens.Outbreak), "course": drawing(screens.CourseForm), "preview": drawing(screens.CoursePreview),
	"forecast": drawing(screens.Forecast), "plans": drawing(screens.Plans), "plancards": drawing(screens.PlanCards), "clear": drawing(screens.Clear),
	"identify": drawing(screens.Identify), "traceback": drawing(screens.TraceBack), "traceon": drawing(screens.TraceOn),
	"household": drawing(screens.Household), "invite": drawing(screens.Invite), "reminders": drawing(screens.Reminders), "place": drawing(screens.PlaceForm), "product": drawing(screens.ProductForm),
	"data": drawing(screens.DataScreen), "datapanel": drawing(screens.DataPanel), "problem": drawing(screens.Problem),
	"qr": func(p string) h.Node { return screens.QRCode(p, p) },
}

// Whatever stands in a view, it stays text: the screen has the same elements and
// attributes as with a harmless word, and every link leads inside the app.
func TestHostileTextStaysText(t *testing.T) {
	require.GreaterOrEqual(t, len(payloads), 30)
	for name, draw := range drawings {
		t.Run(name, func(t *testing.T) {
			harmless := shape(t, h.Render(draw("word")))
			for _, p := range payloads {
				got := h.Render(draw(p))
				if strings.ContainsAny(p, `<>"'`) {
					require.NotContains(t, got, p)
				}
				require.Equal(t, harmless, shape(t, got), p)
			}
		})
	}
}

// shape is the elements of a screen with the names of their attributes, drawings
// left out, whose lines depend on the words (a QR code holds them).
func shape(t *testing.T, s string) string {
	var b strings.Builder
	parse(t, s).walk(func(n *element) {
		if n.name == "" || n.name == "path" {
			return
		}
		b.WriteString(n.name)
		for _, a := range []string{"href", "src", "action", "formaction", "srcdoc", "style"} {
			if to, has := n.attrs[a]; has {
				require.Equal(t, "href", a, "no %s in a screen", a)
				require.True(t, strings.HasPrefix(to, "#/"), "link leads inside: %q", to)
			}
		}
		for a := range n.attrs {
			require.False(t, strings.HasPrefix(a, "on"), a)
		}
		b.WriteString(" " + strconv.Itoa(len(n.attrs)) + "\n")
	})
	return b.String()
}
