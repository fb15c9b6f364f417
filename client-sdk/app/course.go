package app

import (
	"cmp"
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/dose"
)

// course is a course that a person is putting together.
type course struct {
	outbreak     model.OutbreakID
	product      model.ProductID
	interval     int
	applications int
	first        model.Date
	check        int
	isolate      bool
}

// sprayable are the products that a contact course can be made of: their label
// facts suffice for it.
func sprayable(b *model.Book) []*model.Product {
	var out []*model.Product
	for _, p := range shelf(b) {
		if p.Means == model.MeansSoap || p.Means == model.MeansOil || p.Means == model.MeansContactSpray {
			out = append(out, p)
		}
	}
	// The gentlest means comes first, as the order of escalation has it.
	slices.SortStableFunc(out, func(x, y *model.Product) int { return cmp.Compare(x.Means, y.Means) })
	return out
}

// band is the common-practice band of intervals, narrowed by the label: its
// shortest interval always wins, even where it lies above the band.
func band(p *model.Product) (least, most int) {
	d := agenda.DefaultCourse()
	least, most = d.IntervalMin, d.IntervalMax
	if p != nil {
		least = max(least, p.MinInterval)
	}
	return least, max(most, least)
}

func (a *App) defaultCourse(b *model.Book, outbreak model.OutbreakID) course {
	d := agenda.DefaultCourse()
	c := course{outbreak: outbreak, interval: d.Interval, check: d.CheckAfter, first: a.today().Add(1), isolate: true}
	var p *model.Product
	if list := sprayable(b); len(list) > 0 {
		p = list[0]
		c.product = p.ID
	}
	least, _ := band(p)
	c.interval = max(c.interval, least)
	c.applications = d.Applications(c.interval)
	return a.withinSeason(b, c)
}

// changedCourse starts from the plan that rules, if there is one.
func (a *App) changedCourse(b *model.Book, outbreak model.OutbreakID) course {
	c := a.defaultCourse(b, outbreak)
	plans := b.Plans(outbreak)
	if len(plans) == 0 {
		return c
	}
	plan := plans[len(plans)-1].Body.(*model.PlanAccepted)
	if plan.Aim != model.OwnCourse || !slices.ContainsFunc(sprayable(b), func(p *model.Product) bool { return p.ID == plan.Steps[0].Product }) {
		return c // a plan that was found is not made of one rhythm
	}
	c.rhythm(plan)
	return a.withinSeason(b, c)
}

// rhythm reads the numbers of the form from a course that was made of them.
func (c *course) rhythm(plan *model.PlanAccepted) {
	c.product, c.isolate, c.applications, c.check = plan.Steps[0].Product, plan.Isolate, 0, 0
	for i := range plan.Steps {
		day := plan.Steps[i].Day.Sub(plan.Steps[0].Day)
		switch look := plan.Steps[i].Kind == model.StepLook; {
		case look && c.applications == 1:
			c.check = day
		case !look && c.applications == 1:
			c.interval, c.applications = day, 2
		case !look:
			c.applications++
		}
	}
}

// withinSeason leaves out the sprays that the label does not allow any more.
func (a *App) withinSeason(b *model.Book, c course) course {
	plan := c.plan(b, model.PlanID{1}) // any id will do for looking at it
	for _, l := range agenda.PreviewPlan(b, plan, a.now(), a.zone).Limits {
		if l.Kind == agenda.MoreThanLabel {
			c.applications = max(c.applications-(l.Have-l.Want), 1)
		}
	}
	return c
}

// readCourse reads the form. It keeps the numbers inside what can be right.
func (a *App) readCourse(b *model.Book, d Data) course {
	c := course{outbreak: id[model.Outbreak](d, "outbreak"), product: id[model.Product](d, "product"),
		interval: d.Int("interval"), applications: min(max(d.Int("applications"), 1), 50), check: min(max(d.Int("check"), 0), agenda.DefaultCourse().CheckMax), isolate: d.On("isolate")}
	least, most := band(b.Products[c.product])
	c.interval = min(max(c.interval, least), most)
	first, err := model.ParseDate(d.Get("first"))
	if err != nil || first < a.today() {
		first = a.today()
	}
	c.first = first
	return c
}

func (a *App) courseView(b *model.Book, c course) screens.CourseFormView {
	o := b.Outbreaks[c.outbreak]
	least, most := band(b.Products[c.product])
	v := screens.CourseFormView{Outbreak: c.outbreak.String(), Name: a.outbreakName(o), Plants: len(affected(b, o)), Product: c.product.String(),
		Interval: c.interval, Least: least, Most: most, Applications: c.applications, First: c.first.String(), Today: a.today().String(),
		Check: c.check, Isolate: c.isolate, Preview: a.preview(b, c)}
	for _, p := range sprayable(b) {
		v.Products = append(v.Products, screens.Named{ID: p.ID.String(), Name: p.Name})
	}
	return v
}

// courseSummary is a plan in one line: its products, how often, and how far apart
// where it has one rhythm.
func (a *App) courseSummary(b *model.Book, plan *model.PlanAccepted) string {
	var products []string
	times := 0
	for i := range plan.Steps {
		if s := &plan.Steps[i]; s.Applies() {
			times++
			if name := productName(b, s.Product); !slices.Contains(products, name) {
				products = append(products, name)
			}
		}
	}
	if plan.Aim == model.OwnCourse && times > 1 {
		var c course
		c.rhythm(plan)
		return a.t.Course.Summary(products[0], a.t.Format.Times(times), a.t.Format.Days(c.interval))
	}
	return a.t.Common.Dotted(a.t.Format.List(products), a.t.Format.Times(times))
}

// plan is the course as the fact that would be accepted.
func (c course) plan(b *model.Book, id model.PlanID) *model.PlanAccepted {
	plan := &model.PlanAccepted{Plan: id, Outbreak: c.outbreak, Isolate: c.isolate, Basis: model.CommonPractice,
		Steps: model.Rhythm(c.product, c.first, c.interval, c.applications, c.check)}
	if o := b.Outbreaks[c.outbreak]; o != nil {
		for _, p := range affected(b, o) {
			plan.Plants = append(plan.Plants, p.ID)
		}
	}
	return plan
}

// preview is what the course would come to: its days, the product for all of them
// against the shelf, and what speaks against it.
func (a *App) preview(b *model.Book, c course) screens.PreviewView {
	p := b.Products[c.product]
	if p == nil || b.Outbreaks[c.outbreak] == nil {
		return screens.PreviewView{Blocked: a.t.Course.NoProduct}
	}
	plan := c.plan(b, model.PlanID(p.ID)) // any id will do for looking at it
	if len(plan.Plants) == 0 {
		return screens.PreviewView{Blocked: a.t.Outbreak.NoFindings}
	}
	would := agenda.PreviewPlan(b, plan, a.now(), a.zone)
	v := screens.PreviewView{Cautions: a.productCautions(p), Limits: a.limits(b, p, plan.Plants), Total: a.t.Agenda.NoAmount}
	for _, t := range would.Tasks {
		v.Dates = append(v.Dates, a.courseDay(b, t))
	}
	if total := would.Needs[0].Total; (total.Kind == dose.ToMix || total.Kind == dose.Ready) && total.VolumeMl > 0 {
		v.Total = a.amount(total.Product)
	}
	if p.StockMilli > 0 {
		v.Stock = a.t.Format.Stock(p.RateUnit, agenda.StockLeft(b, p))
	}
	for _, l := range would.Limits {
		switch l.Kind {
		case agenda.StockTooSmall:
			v.Short = a.t.Course.Short(a.t.Format.Stock(p.RateUnit, l.Want-l.Have))
		case agenda.MoreThanLabel:
			v.Blocked = a.t.Common.Dotted(a.t.Product.SeasonLabel, a.t.Format.Progress(l.Have, l.Want))
		case agenda.ShorterThanLabel:
			v.Blocked = a.t.Common.Dotted(a.t.Product.IntervalLabel, a.t.Format.Days(l.Want))
		}
	}
	return v
}

// limits are the label's limits that bear on the course, and the plants that want
// care.
func (a *App) limits(b *model.Book, p *model.Product, plants []model.PlantID) []string {
	var out []string
	f, dotted := a.t.Format, a.t.Common.Dotted
	if p.MinInterval > 0 {
		out = append(out, dotted(a.t.Product.IntervalLabel, f.Days(p.MinInterval)))
	}
	if p.MaxPerSeason > 0 {
		out = append(out, dotted(a.t.Product.SeasonLabel, f.Times(p.MaxPerSeason)))
	}
	if p.ReentryHours > 0 {
		out = append(out, dotted(a.t.Product.ReentryLabel, f.Hours(p.ReentryHours)))
	}
	if p.MaxCelsius > 0 {
		out = append(out, a.t.Cautions.Heat(p.MaxCelsius))
	}
	for _, id := range plants {
		if x := b.Plants[id]; x.Edible && !p.EdibleAllowed {
			out = append(out, x.Name+": "+a.t.Cautions.NotFood)
		}
	}
	return out
}

func (a *App) showCourse(outbreak model.OutbreakID) Answer {
	var v screens.CourseFormView
	a.house.Read(func(b *model.Book) {
		if b.Outbreaks[outbreak] != nil {
			v = a.courseView(b, a.changedCourse(b, outbreak))
		}
	})
	if v.Outbreak == "" {
		return Answer{}
	}
	return a.screen(screens.SpotOutbreaks, screens.CourseForm(a.t, v))
}

// previewCourse answers while a person changes the course.
func (a *App) previewCourse(_ context.Context, e Event) Answer {
	var v screens.PreviewView
	a.house.Read(func(b *model.Book) { v = a.preview(b, a.readCourse(b, e.Data)) })
	return Answer{Swaps: []Swap{a.swap(screens.IDCoursePreview, screens.CoursePreview(a.t, v))}}
}

// acceptCourse makes the course the plan that every phone follows.
func (a *App) acceptCourse(ctx context.Context, e Event) Answer {
	var plan *model.PlanAccepted
	var form screens.CourseFormView
	a.house.Read(func(b *model.Book) {
		c := a.readCourse(b, e.Data)
		if b.Outbreaks[c.outbreak] == nil {
			return
		}
		form = a.courseView(b, c)
		plan = c.plan(b, model.PlanID(a.house.NewID()))
	})
	if plan == nil {
		return Answer{}
	}
	if form.Preview.Blocked != "" {
		form.Problem = form.Preview.Blocked
		return a.screen(screens.SpotOutbreaks, screens.CourseForm(a.t, form))
	}
	if _, failed := a.write(ctx, replica.Seen(plan)); failed != nil {
		return *failed
	}
	return Answer{Go: screens.OutbreakRoute(plan.Outbreak.String()), Say: a.t.Say.CourseAccepted}
}

// amount is a measured amount with its unit.
func (a *App) amount(x dose.Amount) string {
	m := x.Measured()
	unit := model.RateMlPerLitre
	if m.Unit == dose.Gram {
		unit = model.RateGramPerLitre
	}
	return a.t.Format.Stock(unit, int(m.Millionths/1000))
}

// mixWords says how much to prepare, and how it is made up.
func (a *App) mixWords(m dose.Mix) (mix, how string) {
	ag := a.t.Agenda
	switch m.Kind {
	case dose.Ready:
		return a.t.Format.Ml(int(m.VolumeMl)), ag.Ready
	case dose.ToMix:
		if m.VolumeMl > 0 {
			return a.amount(m.Product), ag.MixHow(a.amount(m.Product), a.t.Format.Ml(int(m.VolumeMl)))
		}
		return "", ag.MixHow(a.amount(m.PerLitre), a.t.Format.Ml(1000))
	case dose.PlainWater:
		return "", ""
	}
	return "", ag.NoAmount
}

// productCautions are what to mind with a product, its own label's words last.
func (a *App) productCautions(p *model.Product) []string {
	out := slices.Concat(a.t.Cautions.First, a.t.Cautions.Means[p.Means], a.t.Cautions.People, []string{a.t.Cautions.Outdoors})
	if p.Cautions != "" {
		out = append(out, p.Cautions)
	}
	return out
}
