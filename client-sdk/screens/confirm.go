package screens

import (
	"strconv"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// ConfirmView is a treatment that is about to be noted as done.
type ConfirmView struct {
	Tasks     []string
	Action    string
	Plants    []Named
	Place     string
	Product   string
	Mix       string // what to mix in all
	MixHow    string // how it is made up, from the label's rate
	AmountMl  int    // planned amount of spray, the field's first value; 0 leaves it empty
	Cautions  []string
	OwnLabel  []string // the cautions of the product's own label
	Warnings  []string // what speaks against it, gravest first
	Sensitive []string // plants that want one leaf tried first
	Blocked   []string // why it must not be done now
	Problem   string
}

// sprayed are the parts that a spray can reach. None is ticked beforehand: a
// tick says that somebody was there.
var sprayed = []model.Part{model.Underside, model.TopSide, model.Stem, model.Soil, model.LeafJoint, model.NewGrowth, model.Flower}

// Confirm shows the cautions before anything else, then the amount, then asks
// where the spray went.
func Confirm(t *texts.Catalogue, v ConfirmView) h.Node {
	c := t.Confirm
	return screen("confirm",
		heading(v.Action, v.Place, backTo(RouteToday, t.Bar.Today)),
		problem(v.Problem),
		h.If(len(v.Blocked) > 0, notice("stop", h.P(class("strong"), h.Text(c.BlockedTitle)), bullets(v.Blocked))),
		h.If(len(v.Warnings) > 0, notice("care", bullets(v.Warnings))),
		h.Div(class("cols"),
			h.Section(class("part cautions"), h.H2(h.Text(c.CautionsTitle)),
				h.If(len(v.OwnLabel) > 0, h.Group{h.H3(h.Text(c.OwnLabel)), bullets(v.OwnLabel)}),
				h.H3(h.Text(c.General)), bullets(v.Cautions),
				leafTest(t, v.Sensitive),
				h.P(h.A(h.Href(RoutePoison), class("alone"), h.Text(t.Poison.Title)))),
			confirmForm(t, v)))
}

func leafTest(t *texts.Catalogue, plants []string) h.Node {
	if len(plants) == 0 {
		return nil
	}
	return notice("care", h.P(class("strong"), h.Text(t.Confirm.LeafTestTitle(t.Format.List(plants)))), h.P(h.Text(t.Confirm.LeafTest)))
}

func confirmForm(t *texts.Catalogue, v ConfirmView) h.Node {
	c := t.Confirm
	places := make([]option, len(sprayed))
	for i, s := range sprayed {
		places[i] = option{value: intText(int(s)), label: t.Words.Part[s]}
	}
	amount := ""
	if v.AmountMl > 0 {
		amount = strconv.Itoa(v.AmountMl)
	}
	return h.Form(h.Data("do", ActApply), h.Flag("novalidate"), class("part"),
		h.Map(v.Tasks, func(id string) h.Node { return hidden("task", id) }),
		h.H2(h.Text(c.AmountTitle)),
		h.Div(class("mix"), icon("bottle"), h.Div(h.P(class("small"), h.Text(v.Product)), h.If(v.Mix != "", h.P(class("amount"), h.Text(v.Mix))),
			h.If(v.MixHow != "", h.P(class("small"), h.Text(v.MixHow))))),
		plantChips(v.Plants),
		pills("checkbox", "cf-part", "part", c.Where, places),
		numberField("cf-amount", "amount", c.UsedLabel, c.UsedHint, amount, c.UsedUnit),
		h.If(len(v.Sensitive) > 0, tick("cf-leaf", "leaftest", c.LeafTested, "", false)),
		fold("cf-more", "more", t.Common.AddNote, areaField("cf-note", "note", t.Common.Note, "", "")),
		confirmDone(t, v))
}

// confirmDone notes the treatment. One that must not be done now is noted only by
// somebody who says that it was done already: what happened counts, whatever the label
// says.
func confirmDone(t *texts.Catalogue, v ConfirmView) h.Node {
	if len(v.Blocked) == 0 {
		return dock(submit("main", t.Confirm.Done))
	}
	return fold("cf-anyway", "stop", t.Tasks.AnywayTitle, h.P(h.Text(t.Tasks.AnywayWords)), submit("stern", t.Tasks.Anyway))
}

func intText(n int) string { return strconv.Itoa(n) }
