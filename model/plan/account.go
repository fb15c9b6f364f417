package plan

import (
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/lifecycle"
	"leafturn/model/rotation"
)

// account keeps what was and will be applied, so that each limit can be asked
// about. Days are counted as in the case's climate.
type account struct {
	c      *Case
	tools  []tool
	used   [][]int // days of use of each tool, in order, history first
	ledger rotation.Ledger
	row    row
	free   int // first day on which plants may be touched
	hit    *[limits]bool
	lifted Limit // a limit not looked at, to see what it costs; 0 for none
}

// row is how often the product used last was used without another one in between.
// A season without any use ends it.
type row struct {
	product model.ProductID
	uses    int
	last    int
}

func (r *row) take(p model.ProductID, day int) {
	r.uses, r.product, r.last = r.of(p, day)+1, p, day
}

// of is the uses in a row of a product before a day.
func (r *row) of(p model.ProductID, day int) int {
	if r.product != p || day-r.last >= agenda.SeasonDays {
		return 0
	}
	return r.uses
}

// newAccount takes the history in. Products that are no tool here count for the
// rotation all the same.
func newAccount(c *Case, tools []tool, lifted Limit, hit *[limits]bool) account {
	a := account{c: c, tools: tools, used: make([][]int, len(tools)), hit: hit, lifted: lifted}
	a.ledger, _ = rotation.NewLedger(c.rule())
	for _, h := range c.past() {
		day := c.day(h.Day)
		for i := range tools {
			if tools[i].product != nil && tools[i].product.ID == h.Product.ID {
				a.used[i] = append(a.used[i], day)
			}
		}
		a.row.take(h.Product.ID, day)
		if use, err := rotation.UseOf(h.Product, h.Day); err == nil {
			_, _ = a.ledger.Add(nil, use) // the history is in order of days
		}
		a.free = max(a.free, day+reentryDays(h.Product.ReentryHours))
	}
	return a
}

// rule is the rotation by the pest's generation at the mean of the days to come;
// the usual window where it has none.
func (c *Case) rule() rotation.Rule {
	mean, from := 0.0, c.Cloud.Day()
	for _, d := range c.Days[from : from+c.Horizon] {
		mean += d.Mean() / float64(c.Horizon)
	}
	life, err := lifecycle.Of(c.Model.Species)
	if err != nil {
		return rotation.DefaultRule()
	}
	g, err := life.Generation(mean)
	if err != nil {
		return rotation.DefaultRule()
	}
	r, err := rotation.ForGeneration(max(1, g*lifecycle.FastHost), max(1, g*lifecycle.SlowHost))
	if err != nil {
		return rotation.DefaultRule()
	}
	return r
}

func (c *Case) day(d model.Date) int  { return c.Cloud.Day() + d.Sub(c.Today) }
func (c *Case) date(d int) model.Date { return c.Today.Add(d - c.Cloud.Day()) }

// copy is an account that goes its own way; the lists of days are shared until one
// is added to.
func (a *account) copy() account {
	b := *a
	b.used = make([][]int, len(a.used))
	for i, u := range a.used {
		b.used[i] = u[:len(u):len(u)]
	}
	return b
}

// asks says which limit keeps a tool from being used on a day, 0 for none, and
// whether its group is due for a change.
func (a *account) asks(i, day int) (Limit, bool) {
	t := &a.tools[i]
	used := a.used[i]
	if len(used) > 0 && day-used[len(used)-1] < a.gap(t) {
		return a.note(LimitInterval), false
	}
	if a.c.Days[day].High > t.celsius && a.lifted != LimitHeat {
		return a.note(LimitHeat), false
	}
	if p := t.product; p != nil && p.MaxPerSeason > 0 && a.lifted != LimitSeason && season(used, day) >= p.MaxPerSeason {
		return a.note(LimitSeason), false
	}
	if p := t.product; p != nil && p.MostInRow > 0 && a.lifted != LimitRotation && a.row.of(p.ID, day) >= p.MostInRow {
		return a.note(LimitRotation), true
	}
	if t.product == nil || len(t.use.Groups) == 0 && !t.use.Systemic {
		return 0, false
	}
	findings := a.findings(t, day)
	if rotation.Worst(findings) >= rotation.Warning && a.lifted != LimitRotation {
		return a.note(LimitRotation), true
	}
	return 0, len(findings) > 0
}

func (a *account) gap(t *tool) int {
	if a.lifted == LimitInterval {
		return 1
	}
	return t.gap
}

func (a *account) findings(t *tool, day int) []rotation.Finding {
	use := t.use
	use.Day = a.c.date(day)
	ledger := a.ledger
	var room [4]rotation.Finding
	findings, err := ledger.Add(room[:0], use)
	if err != nil {
		return nil
	}
	return findings
}

func (a *account) note(l Limit) Limit {
	a.hit[l] = true
	return l
}

// season counts the uses in the agenda's season that ends with a day.
func season(used []int, day int) int {
	n := 0
	for _, d := range used {
		if day-d < agenda.SeasonDays && d <= day {
			n++
		}
	}
	return n
}

// take notes a use.
func (a *account) take(i, day int) {
	t := &a.tools[i]
	a.used[i] = append(a.used[i], day)
	use := t.use
	use.Day = a.c.date(day)
	if t.product != nil {
		a.row.take(t.product.ID, day)
		_, _ = a.ledger.Add(nil, use) // days only go on
	}
	a.free = max(a.free, day+t.reentry)
}
