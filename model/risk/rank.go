package risk

import (
	"cmp"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/model/standing"
)

// Ranked is one plant with its score and what it rests on.
type Ranked struct {
	Plant  *model.Plant
	Status standing.Status
	Sight  Sight
	Score  float64
	By     model.OutbreakID // the outbreak it is near to, zero if none
}

// Rank puts the living plants that are not known to be affected in order, the
// doubtful ones first; plants of one score by name. Affected ones have their own
// course and are left out. All is how every plant stands now, by package standing.
func Rank(b *model.Book, all map[model.PlantID]standing.Status, now model.Instant, zone *time.Location) []Ranked {
	near := nearness(b, all)
	comings := comingsOf(b)
	var list []Ranked
	for id, p := range b.Plants {
		s := all[id]
		if s.Standing == standing.Lost || s.Affected || s.Standing == standing.InTreatment {
			continue
		}
		r := Ranked{Plant: p, Status: s, Sight: sight(p, s, comings.lately(p), now.Date(zone), zone)}
		n := near.of(p, b)
		r.Sight.Near, r.By = n.near, n.outbreak
		r.Score = r.Sight.Score()
		list = append(list, r)
	}
	slices.SortFunc(list, func(x, y Ranked) int {
		return cmp.Or(cmp.Compare(y.Score, x.Score), cmp.Compare(x.Plant.Name, y.Plant.Name), model.CompareIDs(x.Plant.ID, y.Plant.ID))
	})
	return list
}

// comings are the last times that plants came in, and that flowers or produce came
// to a place, whose pests then are among its plants.
type comings struct {
	hands standing.Hands
	cut   map[model.PlaceID]*model.Fact
}

func comingsOf(b *model.Book) comings {
	c := comings{standing.Hands{}, map[model.PlaceID]*model.Fact{}}
	for _, f := range b.Facts() {
		x, ok := f.Body.(*model.Handling)
		if !ok || !b.Stands(f.ID) {
			continue
		}
		c.hands.Note(f, x)
		if last := c.cut[x.Place]; x.Kind == model.CutCameIn && (last == nil || last.At < f.At) {
			c.cut[x.Place] = f
		}
	}
	return c
}

// lately is when something last came in with or beside a plant, or nil.
func (c *comings) lately(p *model.Plant) *model.Fact {
	in, cut := c.hands[p.ID].In, c.cut[p.Place]
	if in == nil || cut != nil && cut.At > in.At {
		return cut
	}
	return in
}

// ailing is the weakness of a plant that the household calls weak; our judgement.
const ailing = 0.6

func sight(p *model.Plant, s standing.Status, in *model.Fact, today model.Date, zone *time.Location) Sight {
	x := Sight{Unseen: -1, In: -1, Leaves: LeavesOf(p.Species)}
	if p.ThinLeaf {
		x.Leaves = Thin
	}
	if s.LastLook != nil {
		x.Unseen = max(0, today.Sub(s.LastLook.At.Date(zone)))
		x.Weak = float64(s.LastLook.Body.(*model.Inspection).Damage) / 5
	}
	if p.Weak {
		x.Weak = max(x.Weak, ailing)
	}
	if in != nil {
		x.In = max(0, today.Sub(in.At.Date(zone)))
	}
	return x
}

// neighbourhood says where open outbreaks are, and who was handled with whom.
type neighbourhood struct {
	open    model.OutbreakID // any one that is open
	places  map[model.PlaceID]model.OutbreakID
	touched map[model.PlantID]model.OutbreakID
}

type nearTo struct {
	near     Nearness
	outbreak model.OutbreakID
}

func nearness(b *model.Book, all map[model.PlantID]standing.Status) neighbourhood {
	n := neighbourhood{places: map[model.PlaceID]model.OutbreakID{}, touched: map[model.PlantID]model.OutbreakID{}}
	sick := map[model.PlantID]model.OutbreakID{}
	for _, o := range open(b) {
		n.open = o.ID
		for id, yes := range o.Affects {
			if p := b.Plants[id]; yes && p != nil && all[id].Standing != standing.Lost {
				sick[id] = o.ID
				if !all[id].Apart {
					n.places[p.Place] = o.ID
				}
			}
		}
	}
	n.touch(b, sick)
	return n
}

// open lists the open outbreaks, the last one opened last.
func open(b *model.Book) []*model.Outbreak {
	var list []*model.Outbreak
	for _, o := range b.Outbreaks {
		if o.Closed == 0 {
			list = append(list, o)
		}
	}
	slices.SortFunc(list, func(x, y *model.Outbreak) int {
		return cmp.Or(cmp.Compare(x.Opened, y.Opened), model.CompareIDs(x.ID, y.ID))
	})
	return list
}

// lately is how long before an outbreak was found hands and tools may have carried
// it; our judgement.
const lately = 14

// touch finds the plants that were handled together with one that turned out to be
// affected.
func (n *neighbourhood) touch(b *model.Book, sick map[model.PlantID]model.OutbreakID) {
	for _, f := range b.Facts() {
		x, ok := f.Body.(*model.Handling)
		if !ok || len(x.Plants) < 2 || !contact(x.Kind) || !b.Stands(f.ID) {
			continue
		}
		for _, p := range x.Plants {
			id, is := sick[p]
			if !is || f.At < b.Outbreaks[id].Opened.Add(-lately).Start(time.UTC) {
				continue
			}
			for _, q := range x.Plants {
				n.touched[q] = id
			}
		}
	}
}

// contact reports whether a handling of several plants at once may carry a pest.
func contact(k model.HandlingKind) bool {
	switch k {
	case model.Moved, model.Rinsed, model.Pruned, model.Repotted, model.CameIn, model.Wiped:
		return true
	}
	return false
}

func (n *neighbourhood) of(p *model.Plant, b *model.Book) nearTo {
	if id, ok := n.touched[p.ID]; ok {
		return nearTo{Touched, id}
	}
	if id, ok := n.places[p.Place]; ok {
		return nearTo{SamePlace, id}
	}
	if !n.open.IsZero() {
		return nearTo{Household, n.open}
	}
	return nearTo{}
}
