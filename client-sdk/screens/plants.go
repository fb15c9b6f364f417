package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// PlantsView is the collection by place.
type PlantsView struct {
	Sample   bool
	Query    string
	Total    int // plants in the household, whatever the search finds
	Groups   []PlantGroup
	Removals []Removal
	Guest    bool // this phone may not add a plant
}

// PlantGroup is the plants of one place.
type PlantGroup struct {
	Place  Named
	Plants []PlantRow
	Water  bool // all of them can be noted as watered at once
}

// PlantRow is a plant in a list.
type PlantRow struct {
	ID       string
	Name     string
	Species  string
	Standing texts.Standing
	Note     string // why it stands so, or when it was looked at last
	Photo    *Photo
}

// Plants is the third of the five places.
func Plants(t *texts.Catalogue, v PlantsView) h.Node {
	p := t.Plants
	if v.Total == 0 {
		return screen("plants", heading(p.Title, "", nil), sampleNotice(t, v.Sample), removals(t, v.Removals),
			empty("plants", t.Today.NoPlantsTitle, t.Today.NoPlants, h.If(!v.Guest, goTo("main", RouteNewPlant, p.Add))))
	}
	return screen("plants",
		heading(p.Title, t.Format.Plants(v.Total), nil),
		sampleNotice(t, v.Sample),
		removals(t, v.Removals),
		h.Search(class("search"), h.Label(h.For("plant-search"), icon("look"), h.Span(class("unseen"), h.Text(p.Search))),
			h.Input(h.ID("plant-search"), h.Type("search"), h.Name("q"), h.Value(v.Query), h.Placeholder(p.Search), h.Attr("autocomplete", "off"), h.Data("change", ActSearch))),
		h.Div(h.ID(IDPlantList), PlantList(t, v)),
		h.If(!v.Guest, dock(goTo("main", RouteNewPlant, p.Add, icon("plus")))))
}

// PlantList is the list under the search box, swapped while somebody types.
func PlantList(t *texts.Catalogue, v PlantsView) h.Node {
	if len(v.Groups) == 0 {
		return empty("look", t.Plants.NoneTitle, t.Plants.None(v.Query))
	}
	return h.Div(class("groups"), h.Map(v.Groups, func(group PlantGroup) h.Node {
		return h.Section(class("part"),
			h.Div(class("line"), h.H2(h.ID("at-"+group.Place.ID), class("grow"), h.Text(group.Place.Name)), h.Span(class("small"), h.Text(t.Format.Plants(len(group.Plants)))),
				h.If(group.Water, button("quiet", t.Tasks.Watered, act(ActWater, "place", group.Place.ID), h.Aria("describedby", "at-"+group.Place.ID)))),
			plantRows(t, group.Plants))
	}))
}

func plantRows(t *texts.Catalogue, rows []PlantRow) h.Node {
	return h.If(len(rows) > 0, h.Ul(class("rows"), h.Map(rows, func(r PlantRow) h.Node {
		return h.Li(h.A(h.Href(PlantRoute(r.ID)), class("row"), rowPicture(r),
			h.Span(class("grow"),
				h.Span(class("under-title wide"), h.Span(class("strong grow"), h.Text(r.Name)), standing(t, r.Standing)),
				h.If(r.Species != "", h.Span(class("species"), h.Text(r.Species))),
				h.If(r.Note != "", h.Span(class("small"), h.Text(r.Note))))))
	})))
}

func rowPicture(r PlantRow) h.Node {
	if r.Photo == nil {
		return h.Span(class("thumb none"), leafDrawing())
	}
	return h.Span(class("thumb"), picture(*r.Photo, thumbnail))
}

// PlantFormView adds a plant or changes its facts.
type PlantFormView struct {
	Plant     string // "" for a new one
	Name      string
	Species   string
	Place     string
	Places    []Named
	Note      string
	Edible    bool
	Sensitive bool
	Thin      bool   // thin, soft leaves
	Weak      bool   // ill, dry or newly potted
	Mother    string // the plant it was cut from, "" for none
	Mothers   []Named
	Problem   string
}

// PlantForm needs only a name and a place; the rest is behind one tap for a new
// plant.
func PlantForm(t *texts.Catalogue, v PlantFormView) h.Node {
	f := t.PlantForm
	title, action, back := f.NewTitle, ActAddPlant, backTo(RoutePlants, t.Bar.Plants)
	if v.Plant != "" {
		title, action, back = f.EditTitle, ActSavePlant, backTo(PlantRoute(v.Plant), v.Name)
	}
	id := "pf" + v.Plant
	more := h.Group{
		textField(id+"-species", "species", f.SpeciesLabel, f.SpeciesHint, v.Species),
		h.If(v.Plant == "", tick(id+"-arrived", "arrived", f.ArrivedLabel, f.ArrivedHint, false)),
		tick(id+"-edible", "edible", f.EdibleLabel, f.EdibleHint, v.Edible),
		tick(id+"-sensitive", "sensitive", f.SensitiveLabel, f.SensitiveHint, v.Sensitive),
		fold(id+"-prone", "look", f.Prone, h.P(class("hint"), h.Text(f.ProneHint)),
			tick(id+"-thin", "thin", f.ThinLabel, f.ThinHint, v.Thin),
			tick(id+"-weak", "weak", f.WeakLabel, f.WeakHint, v.Weak),
			h.If(len(v.Mothers) > 0, selectField(id+"-mother", "mother", f.MotherLabel, f.MotherHint, append([]Named{{Name: f.NoMother}}, v.Mothers...), v.Mother))),
		areaField(id+"-note", "note", t.Common.Note, f.NoteHint, v.Note),
	}
	return screen("plantform",
		heading(title, "", back),
		problem(v.Problem),
		form(action, h.If(v.Plant != "", hidden("plant", v.Plant)),
			textField(id+"-name", "name", f.NameLabel, f.NameHint, v.Name, h.Required()),
			placeField(t, id, v.Places, v.Place),
			h.If(v.Plant == "", fold(id+"-more", "more", f.More, more)),
			h.If(v.Plant != "", more),
			dock(submit("main", f.Save))))
}

// placeField chooses a place, or names a new one where there is none to choose.
func placeField(t *texts.Catalogue, id string, places []Named, chosen string) h.Node {
	f := t.PlantForm
	newPlace := textField(id+"-newplace", "newplace", f.NewPlaceLabel, f.NewPlaceHint, "")
	if len(places) == 0 {
		return newPlace
	}
	options := make([]option, len(places))
	for i, p := range places {
		options[i] = option{value: p.ID, label: p.Name, on: p.ID == chosen || chosen == "" && i == 0}
	}
	return h.Group{
		pills("radio", id+"-place", "place", f.PlaceLabel, options),
		fold(id+"-other", "more", f.OtherPlace, newPlace),
	}
}
