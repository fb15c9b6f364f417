package screens_test

import (
	"html"
	"regexp"
	"strings"

	"github.com/stretchr/testify/require"
)

// element is a node of a screen, read back from its HTML.
type element struct {
	name     string
	attrs    map[string]string
	children []*element
	text     string // of a text node, whose name is ""
}

var (
	tagOrText = regexp.MustCompile(`<[^>]*>|[^<]+`)
	attr      = regexp.MustCompile(`\s([a-zA-Z0-9-]+)(?:="([^"]*)")?`)
	void      = map[string]bool{"input": true, "img": true, "br": true, "hr": true}
)

// parse reads what the screens write: every element closed, every value in
// double quotes. Anything else fails the test, so a stray character cannot pass.
func parse(t require.TestingT, s string) *element {
	root := &element{name: "root"}
	open := []*element{root}
	for _, tok := range tagOrText.FindAllString(s, -1) {
		top := open[len(open)-1]
		switch {
		case strings.HasPrefix(tok, "</"):
			require.Equal(t, top.name, strings.Trim(tok, "</>"), "closes the element that is open")
			open = open[:len(open)-1]
		case tok[0] == '<':
			e := parseTag(t, tok)
			top.children = append(top.children, e)
			if !void[e.name] {
				open = append(open, e)
			}
		default:
			top.children = append(top.children, &element{text: html.UnescapeString(tok)})
		}
	}
	require.Len(t, open, 1, "every element is closed")
	return root
}

func parseTag(t require.TestingT, tok string) *element {
	name, rest, _ := strings.Cut(strings.Trim(tok, "<>"), " ")
	require.Regexp(t, `^[a-z][a-z0-9]*$`, name, tok)
	e := &element{name: name, attrs: map[string]string{}}
	if rest = " " + rest; rest == " " {
		return e
	}
	require.Empty(t, attr.ReplaceAllString(rest, ""), "attributes only: %s", tok)
	for _, m := range attr.FindAllStringSubmatch(rest, -1) {
		e.attrs[m[1]] = html.UnescapeString(m[2])
	}
	return e
}

// walk visits an element and all below it.
func (e *element) walk(visit func(*element)) {
	visit(e)
	for _, c := range e.children {
		c.walk(visit)
	}
}

// words is the text that somebody hears who does not see the screen.
func (e *element) words() string {
	if e.attrs["aria-hidden"] == "true" {
		return ""
	}
	if label := e.attrs["aria-label"]; label != "" {
		return label
	}
	if e.name == "img" {
		return e.attrs["alt"]
	}
	var b strings.Builder
	b.WriteString(e.text)
	for _, c := range e.children {
		b.WriteString(c.words() + " ")
	}
	return strings.TrimSpace(b.String())
}
