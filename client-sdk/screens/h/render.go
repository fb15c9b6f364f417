package h

import "strings"

// usual is room for the HTML of most screens.
const usual = 8 << 10

// Render is the HTML of a node.
func Render(n Node) string {
	if n == nil {
		return ""
	}
	var b strings.Builder
	b.Grow(usual)
	n.write(&b)
	return b.String()
}

func (e *element) write(b *strings.Builder) {
	b.WriteByte('<')
	b.WriteString(e.name)
	attributesOf(b, e.nodes)
	b.WriteByte('>')
	if void(e.name) {
		return
	}
	contentOf(b, e.nodes)
	b.WriteString("</")
	b.WriteString(e.name)
	b.WriteByte('>')
}

func (a *attribute) write(b *strings.Builder) {
	b.WriteByte(' ')
	b.WriteString(a.name)
	if a.flag {
		return
	}
	b.WriteString(`="`)
	escape(b, a.value)
	b.WriteByte('"')
}

func (w words) write(b *strings.Builder) { escape(b, string(w)) }

func (g Group) write(b *strings.Builder) { contentOf(b, g) }

func attributesOf(b *strings.Builder, nodes []Node) {
	for _, n := range nodes {
		switch n := n.(type) {
		case *attribute:
			n.write(b)
		case Group:
			attributesOf(b, n)
		}
	}
}

func contentOf(b *strings.Builder, nodes []Node) {
	for _, n := range nodes {
		switch n := n.(type) {
		case nil, *attribute:
		default:
			n.write(b)
		}
	}
}

// void reports whether an element has no content and no end
// (https://html.spec.whatwg.org/multipage/syntax.html#void-elements).
func void(element string) bool {
	switch element {
	case "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr":
		return true
	}
	return false
}

// escape writes a text of which nothing is taken for markup, between tags and in
// quotes. No HTML can hold a zero byte, which becomes what browsers make of one.
func escape(b *strings.Builder, text string) {
	plain := 0 // from here on nothing had to be escaped yet
	for i := range len(text) {
		var as string
		switch text[i] {
		case '&':
			as = "&amp;"
		case '<':
			as = "&lt;"
		case '>':
			as = "&gt;"
		case '"':
			as = "&#34;"
		case '\'':
			as = "&#39;"
		case 0:
			as = "\uFFFD"
		default:
			continue
		}
		b.WriteString(text[plain:i])
		b.WriteString(as)
		plain = i + 1
	}
	b.WriteString(text[plain:])
}
