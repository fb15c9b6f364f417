package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// ProductFormView is a product and the facts of its own label. Numbers are text
// as typed, "" where the label says nothing: nothing is ever filled in for it,
// and of means and unit none is chosen beforehand.
//
// Fields: name, means, active, group, unit (a model.RateUnit), rate, perplant,
// interval, season, inrow, reentry, maxheat, site (a model.Site), pests, cautions, stock, [edible].
type ProductFormView struct {
	Product  string // "" for a new one
	Name     string
	Means    model.Means
	Active   string
	Group    string
	Unit     model.RateUnit
	Rate     string
	PerPlant string // ml of mixed spray per plant
	Interval string // days
	Season   string // applications
	Reentry  string // hours
	MaxHeat  string // degrees Celsius
	InRow    string // applications
	Site     model.Site
	Pests    string
	Cautions string
	Stock    string
	Edible   bool
	Guest    bool // this phone may not change the product
	Problem  string
}

// ProductForm takes down the label once, so that nobody works from memory later.
func ProductForm(t *texts.Catalogue, v ProductFormView) h.Node {
	p := t.Product
	if v.Guest {
		return productFacts(t, v)
	}
	title, action := p.NewTitle, ActAddProduct
	if v.Product != "" {
		title, action = p.EditTitle, ActSaveProduct
	}
	return screen("productform",
		heading(title, p.Lead, backTo(RouteHousehold, t.Bar.Household)),
		problem(v.Problem),
		form(action, h.If(v.Product != "", hidden("product", v.Product)),
			h.Div(class("cols"),
				h.Div(class("col"), productWhat(t, v), productRate(t, v)),
				h.Div(class("col"), productLimits(t, v), productWords(t, v))),
			dock(submit("main", t.Common.Save))),
		h.If(v.Product != "", h.Div(class("folds"), fold("pr-remove", "more", p.RemoveTitle, h.P(h.Text(p.RemoveWords)),
			button("stern", p.Remove, act(ActRemoveProduct, "product", v.Product))))))
}

// productFacts is what a guest needs of a label, which is to read it.
func productFacts(t *texts.Catalogue, v ProductFormView) h.Node {
	p := t.Product
	with := func(value, unit string) string {
		if value == "" {
			return ""
		}
		return value + " " + unit
	}
	edible := ""
	if v.Edible {
		edible = p.EdibleLabel
	}
	return screen("productform",
		heading(v.Name, t.Words.Means[v.Means], backTo(RouteHousehold, t.Bar.Household)),
		notice("care", h.P(h.Text(t.Cautions.First[0]))),
		h.If(v.Cautions != "", section(p.CautionsLabel, h.P(class("note"), h.Text(v.Cautions)))),
		section(p.Limits, h.Dl(class("facts"),
			pair(p.ActiveLabel, v.Active), pair(p.GroupLabel, v.Group), pair(p.RateLabel, with(v.Rate, t.Words.RateUnit[v.Unit])),
			pair(p.IntervalLabel, with(v.Interval, p.Days)), pair(p.SeasonLabel, with(v.Season, p.Times)), pair(p.InRowLabel, with(v.InRow, p.Times)),
			pair(p.ReentryLabel, with(v.Reentry, p.Hours)), pair(p.MaxHeatLabel, with(v.MaxHeat, p.Celsius)),
			pair(p.PestsLabel, v.Pests), pair(p.StockLabel, with(v.Stock, p.StockUnit))),
			h.If(edible != "", h.P(h.Text(edible)))))
}

func productWhat(t *texts.Catalogue, v ProductFormView) h.Node {
	p, id := t.Product, "pr"+v.Product
	means := make([]option, len(texts.Means))
	for i, m := range texts.Means {
		means[i] = option{value: intText(int(m)), label: t.Words.Means[m], on: m == v.Means}
	}
	return section(p.What,
		textField(id+"-name", "name", p.NameLabel, p.NameHint, v.Name, h.Required()),
		pills("radio", id+"-means", "means", p.MeansLabel, means),
		textField(id+"-active", "active", p.ActiveLabel, p.ActiveHint, v.Active),
		textField(id+"-group", "group", p.GroupLabel, p.GroupHint, v.Group))
}

func productRate(t *texts.Catalogue, v ProductFormView) h.Node {
	p, id := t.Product, "pr"+v.Product
	units := make([]option, len(texts.RateUnits))
	for i, u := range texts.RateUnits {
		units[i] = option{value: intText(int(u)), label: t.Words.RateUnit[u], on: u == v.Unit}
	}
	return section(p.Amounts,
		pills("radio", id+"-unit", "unit", p.UnitLabel, units),
		numberField(id+"-rate", "rate", p.RateLabel, p.RateHint, v.Rate, p.PerLitre),
		numberField(id+"-perplant", "perplant", p.PerPlantLabel, p.PerPlantHint, v.PerPlant, t.Confirm.UsedUnit),
		numberField(id+"-stock", "stock", p.StockLabel, p.StockHint, v.Stock, p.StockUnit))
}

func productLimits(t *texts.Catalogue, v ProductFormView) h.Node {
	p, id := t.Product, "pr"+v.Product
	return section(p.Limits, h.P(class("hint"), h.Text(p.LimitsHint)),
		numberField(id+"-interval", "interval", p.IntervalLabel, "", v.Interval, p.Days),
		numberField(id+"-season", "season", p.SeasonLabel, "", v.Season, p.Times),
		numberField(id+"-inrow", "inrow", p.InRowLabel, p.InRowHint, v.InRow, p.Times),
		numberField(id+"-reentry", "reentry", p.ReentryLabel, p.ReentryHint, v.Reentry, p.Hours),
		numberField(id+"-maxheat", "maxheat", p.MaxHeatLabel, "", v.MaxHeat, p.Celsius))
}

func productWords(t *texts.Catalogue, v ProductFormView) h.Node {
	p, id := t.Product, "pr"+v.Product
	sites := make([]option, len(texts.Sites))
	for i, s := range texts.Sites {
		sites[i] = option{value: intText(int(s)), label: t.Words.Site[s], on: s == v.Site}
	}
	return section(p.Words,
		areaField(id+"-pests", "pests", p.PestsLabel, p.PestsHint, v.Pests),
		pills("radio", id+"-site", "site", p.SiteLabel, sites), h.P(class("hint"), h.Text(p.SiteHint)),
		areaField(id+"-cautions", "cautions", p.CautionsLabel, p.CautionsHint, v.Cautions),
		tick(id+"-edible", "edible", p.EdibleLabel, p.EdibleHint, v.Edible))
}
