package h_test

import (
	"html"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/client-sdk/screens/h"
)

func TestRender(t *testing.T) {
	for name, c := range map[string]struct {
		node h.Node
		want string
	}{
		"nothing":                 {nil, ""},
		"an empty element":        {h.P(), "<p></p>"},
		"words":                   {h.P(h.Text("Fern & ivy")), "<p>Fern &amp; ivy</p>"},
		"an element without end":  {h.Input(h.Name("n"), h.Text("not shown")), `<input name="n">`},
		"attributes come first":   {h.P(h.Text("x"), h.Class("a"), h.Checked()), `<p class="a" checked>x</p>`},
		"nil is nothing":          {h.P(nil, h.Text("x"), nil), "<p>x</p>"},
		"a group is its nodes":    {h.P(h.Group{h.Class("a"), h.Group{h.ID("b"), h.Text("x")}, nil}), `<p class="a" id="b">x</p>`},
		"a group of its own":      {h.Group{h.P(), h.Class("nowhere"), h.P()}, "<p></p><p></p>"},
		"data and aria":           {h.P(h.Data("do", "x"), h.Aria("label", "y")), `<p data-do="x" aria-label="y"></p>`},
		"if not":                  {h.P(h.If(false, h.Text("x")), h.Iff(false, func() h.Node { panic("not called") })), "<p></p>"},
		"if so":                   {h.P(h.If(true, h.Text("x")), h.Iff(true, func() h.Node { return h.Text("y") })), "<p>xy</p>"},
		"one for each":            {h.Ul(h.Map([]string{"a", "b"}, func(s string) h.Node { return h.Li(h.Text(s)) })), "<ul><li>a</li><li>b</li></ul>"},
		"what ends an attribute":  {h.P(h.Class(`"><script>`)), `<p class="&#34;&gt;&lt;script&gt;"></p>`},
		"what ends it otherwise":  {h.P(h.Class(`' onload='x`)), `<p class="&#39; onload=&#39;x"></p>`},
		"what begins an element":  {h.P(h.Text("<b>bold</b>")), "<p>&lt;b&gt;bold&lt;/b&gt;</p>"},
		"a zero byte":             {h.P(h.Text("a\x00b")), "<p>a\uFFFDb</p>"},
		"an entity is two things": {h.P(h.Text("&lt;")), "<p>&amp;lt;</p>"},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, h.Render(c.node)) })
	}
}

// Whatever the words, they come out of a browser as they went in, and none of them is
// taken for markup.
func TestWordsStayWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringOfN(rapid.RuneFrom([]rune("<>&\"'\x00;#a")), 0, 30, -1)).Draw(t, "text")
		page := h.Render(h.P(h.Class(text), h.Text(text)))
		value, rest, ok := strings.Cut(strings.TrimPrefix(page, `<p class="`), `">`)
		require.True(t, ok, page)
		words, end := strings.CutSuffix(rest, "</p>")
		require.True(t, end, page)
		for _, got := range []string{value, words} {
			require.False(t, strings.ContainsAny(got, "<>\"'\x00"), got)
			require.Equal(t, strings.ReplaceAll(text, "\x00", "\uFFFD"), html.UnescapeString(got))
		}
	})
}
