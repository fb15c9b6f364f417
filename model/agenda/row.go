package agenda

import (
	"slices"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/model/standing"
)

// completion is how one task was completed. Nearly all are completed once.
type completion struct {
	first  *model.Fact
	others []*model.Fact
	apps   int // how many of them are applications
}

func (c *completion) add(f *model.Fact) {
	if _, ok := f.Body.(*model.Application); ok {
		c.apps++
	}
	if c.first != nil && standing.CompareDone(c.first, f) < 0 {
		c.others = append(c.others, f)
		return
	}
	if c.first != nil {
		c.others = append(c.others, c.first)
	}
	c.first = f
}

// all gives every completion in order of doing.
func (c *completion) all() []*model.Fact {
	slices.SortFunc(c.others, standing.CompareDone)
	return append([]*model.Fact{c.first}, c.others...)
}

// applications gives those completions that are applications, in order of doing.
func (c *completion) applications() []*model.Fact {
	return slices.DeleteFunc(c.all(), func(f *model.Fact) bool {
		_, ok := f.Body.(*model.Application)
		return !ok
	})
}

// rowKey names a row of tasks that follow each other and belong to no plan.
type rowKey struct {
	rule    model.Rule
	subject uuid.UUID
}

// row is what is known of such tasks.
type row struct {
	highest uint32 // greatest ordinal completed
	looks   []look // of later ones
}

type look struct {
	ordinal uint32
	plant   model.PlantID
}
