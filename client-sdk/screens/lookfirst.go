package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// AtRisk is a plant that should be looked at before others.
type AtRisk struct {
	Plant Named
	Place string
	Why   string // one sentence
}

// lookFirst lists the plants at most risk, the highest first.
func lookFirst(t *texts.Catalogue, list []AtRisk) h.Node {
	return h.If(len(list) > 0, section(t.LookFirst.Title, h.P(class("small"), h.Text(t.LookFirst.Hint)),
		h.Ol(class("rows"), h.Map(list, func(r AtRisk) h.Node { return plantToSee(t, r.Plant, r.Place, r.Why) }))))
}
