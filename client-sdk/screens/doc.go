// Package screens draws the phone's screens: each is a pure function from a
// catalogue of texts and a view to a node that renders HTML.
//
// A view is a plain struct of data that is ready to show: numbers, amounts and
// dates are already words (texts.Format makes them), ids are strings that only
// travel back. A screen holds no rule of the domain, reads no clock and writes
// nothing. It holds no English either: every word comes from the catalogue or
// from the view.
//
// What a person can do is named by an Act constant. A button carries it as
// data-do with its fields as further data- attributes; a form carries it as
// data-do and its fields by name; an input that acts while it is being changed
// carries it as data-change. Where a person can go is a plain link made by one
// of the Route functions.
//
// A screen is the content of the page's main element. Parts that change on
// their own have their own id and function, so that the smallest fragment can
// be swapped: Bar, PlantList, TaskCard, CoursePreview, DataPanel.
package screens
