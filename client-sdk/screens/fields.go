package screens

import (
	"strconv"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// labelled is a control under its label, with a hint that belongs to it.
func labelled(id, label, hint string, control h.Node) h.Node {
	return h.Div(class("field"), h.Label(h.For(id), h.Text(label)), control,
		h.If(hint != "", h.P(class("hint"), h.ID(id+"-hint"), h.Text(hint))))
}

// describedBy ties a control to its hint.
func describedBy(id, hint string) h.Node {
	return h.If(hint != "", h.Aria("describedby", id+"-hint"))
}

// textField is one line of text.
func textField(id, name, label, hint, value string, more ...h.Node) h.Node {
	return labelled(id, label, hint, h.Input(h.ID(id), h.Type("text"), h.Name(name), h.Value(value),
		h.Attr("autocomplete", "off"), describedBy(id, hint), h.Group(more)))
}

// areaField is several lines of text.
func areaField(id, name, label, hint, value string) h.Node {
	return labelled(id, label, hint, h.Textarea(h.ID(id), h.Name(name), h.Rows("3"), describedBy(id, hint), h.Text(value)))
}

// numberField is a number that is typed, with its unit beside it.
func numberField(id, name, label, hint, value, unit string) h.Node {
	control := h.Div(class("unit"), h.Input(h.ID(id), h.Type("text"), h.Attr("inputmode", "decimal"), h.Name(name), h.Value(value),
		h.Attr("autocomplete", "off"), describedBy(id, hint)), h.Span(h.Text(unit)))
	return labelled(id, label, hint, control)
}

// dateField is a day.
func dateField(id, name, label, hint, value, earliest string, more ...h.Node) h.Node {
	return labelled(id, label, hint, h.Input(h.ID(id), h.Type("date"), h.Name(name), h.Value(value),
		h.If(earliest != "", h.Min(earliest)), describedBy(id, hint), h.Group(more)))
}

// selectField is one of many.
func selectField(id, name, label, hint string, options []Named, chosen string, more ...h.Node) h.Node {
	return labelled(id, label, hint, h.Select(h.ID(id), h.Name(name), describedBy(id, hint), h.Group(more),
		h.Map(options, func(o Named) h.Node {
			return h.Option(h.Value(o.ID), h.If(o.ID == chosen, h.Selected()), h.Text(o.Name))
		})))
}

// stepper is a count with a button on either side, for one wet hand.
func stepper(t *texts.Catalogue, id, name, label, hint string, value, least, most int, more ...h.Node) h.Node {
	step := func(by int, words string, drawing string) h.Node {
		return h.Button(h.Type("button"), class("step"), h.Data("step", strconv.Itoa(by)), h.Data("for", id), h.Aria("label", words), icon(drawing))
	}
	return h.Div(class("stepper"),
		h.Div(class("grow"), h.Label(h.For(id), h.Text(label)), h.If(hint != "", h.P(class("hint"), h.ID(id+"-hint"), h.Text(hint)))),
		h.Div(class("steps"),
			step(-1, t.Common.Fewer(label), "minus"),
			h.Input(h.ID(id), h.Type("number"), h.Attr("inputmode", "numeric"), h.Name(name), h.Value(strconv.Itoa(value)),
				h.Min(strconv.Itoa(least)), h.Max(strconv.Itoa(most)), describedBy(id, hint), h.Group(more)),
			step(1, t.Common.More(label), "plus")))
}

// tick is a switch that is on or off.
func tick(id, name, label, hint string, on bool, more ...h.Node) h.Node {
	return h.Label(class("tick"), h.For(id),
		h.Input(h.ID(id), h.Type("checkbox"), h.Name(name), h.Value("1"), h.If(on, h.Checked()), describedBy(id, hint), h.Group(more)),
		h.Span(class("grow"), h.Text(label), h.If(hint != "", h.Span(class("hint"), h.ID(id+"-hint"), h.Text(hint)))))
}

// option is one of a group of pills.
type option struct {
	value, label string
	on           bool
}

// pills is a group of choices that are all in view; kind is radio or checkbox.
func pills(kind, id, name, legend string, options []option) h.Node {
	nodes := make(h.Group, len(options))
	for i, o := range options {
		oid := id + "-" + strconv.Itoa(i)
		nodes[i] = h.Label(class("pill"), h.For(oid),
			h.Input(h.ID(oid), h.Type(kind), h.Name(name), h.Value(o.value), h.If(o.on, h.Checked())), h.Span(h.Text(o.label)))
	}
	return h.FieldSet(class("pills"), h.Legend(h.Text(legend)), h.Div(class("row"), nodes))
}
