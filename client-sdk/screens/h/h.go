// Package h is the few elements and attributes of HTML that the screens are made
// of, as nodes of gomponents.
//
// It stands in for gomponents/html because of size: the compiler copies those
// constructors, closures and all, to each of the hundreds of places that call
// them, and the phone has to fetch every copy. Here one function makes every
// element and one every attribute, and neither may be copied. That took 3.7 MB
// of 13.3 off the phone app.
package h

import g "maragu.dev/gomponents"

// El is an element.
//
//go:noinline
func El(name string, children []g.Node) g.Node { return g.El(name, children...) }

// Attr is an attribute with a value.
//
//go:noinline
func Attr(name, value string) g.Node { return g.Attr(name, value) }

// Flag is an attribute without a value.
//
//go:noinline
func Flag(name string) g.Node { return g.Attr(name) }

// Text is words, escaped.
//
//go:noinline
func Text(words string) g.Node { return g.Text(words) }

// Data is an attribute that carries data for the shell.
func Data(name, value string) g.Node { return Attr("data-"+name, value) }

// Aria is an attribute for people who do not see the screen.
func Aria(name, value string) g.Node { return Attr("aria-"+name, value) }
