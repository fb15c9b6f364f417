// Package h makes the HTML of the screens: elements, attributes and words are nodes,
// a Group holds several, and Render writes them down with every word escaped.
//
// It is small because of what else weighs on a phone. The compiler copies closures to
// each of the hundreds of places that make an element, and a phone has to fetch every
// copy; a library of templates brings all of itself, and keeps the linker from
// leaving out methods that nobody calls, in all packages. So elements are plain values here, one
// function makes them all, and nothing is imported for escaping.
package h

import "strings"

// Node is an element, an attribute, words or a Group. Where there is a nil one, there
// is nothing.
type Node interface {
	write(*strings.Builder)
}

// Group is several nodes in place of one. Its attributes are those of the element
// that it is in.
type Group []Node

type element struct {
	name  string
	nodes []Node
}

type attribute struct {
	name, value string
	flag        bool // no value is written
}

type words string

// El is an element.
//
//go:noinline
func El(name string, nodes []Node) Node { return &element{name, nodes} }

// Attr is an attribute with a value.
//
//go:noinline
func Attr(name, value string) Node { return &attribute{name: name, value: value} }

// Flag is an attribute without a value.
//
//go:noinline
func Flag(name string) Node { return &attribute{name: name, flag: true} }

// Text is words, escaped.
//
//go:noinline
func Text(text string) Node { return words(text) }

// Data is an attribute that carries data for the shell.
func Data(name, value string) Node { return Attr("data-"+name, value) }

// Aria is an attribute for people who do not see the screen.
func Aria(name, value string) Node { return Attr("aria-"+name, value) }

// If is the node if the condition holds.
func If(condition bool, n Node) Node {
	if condition {
		return n
	}
	return nil
}

// Iff is the node that make gives if the condition holds; else make is not called.
func Iff(condition bool, make func() Node) Node {
	if condition {
		return make()
	}
	return nil
}

// Map is a node for each of some things.
func Map[T any](things []T, node func(T) Node) Group {
	nodes := make(Group, len(things))
	for i, x := range things {
		nodes[i] = node(x)
	}
	return nodes
}
