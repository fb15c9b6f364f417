package app

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// room is a place of a household, with its temperatures in °C.
type room struct {
	name      string
	low, high int
	plants    []string
}

var rooms = []room{
	{"Living room", 20, 24, []string{"Fern", "Calathea", "Monstera", "Palm", "Ivy"}},
	{"Bedroom", 17, 20, []string{"Begonia", "Orchid", "Fig"}},
	{"Kitchen", 19, 23, []string{"Basil", "Mint", "Pothos", "Aralia"}},
}

// invasions is how often a pest is carried in within a year, a few adults at a time.
const invasions = 3

// garden is what really lives on the plants of a household. Nobody sees it but by looking.
type garden struct {
	t      testing.TB
	model  *population.Model
	plants []*host
	random population.Rand
}

// host is one plant and what lives on it.
type host struct {
	name    string
	room    int
	climate *population.Climate
	cloud   *population.Cloud // of one member: the truth
	acts    []population.Act
	kills   *population.Kills
	came    []int // the days on which the pest is carried in
	apart   bool  // nothing walks to or from it
}

func newGarden(t testing.TB, species refdata.Species, days int, seed uint64) *garden {
	g := &garden{t: t, random: population.Stream(seed, 1)}
	var err error
	g.model, err = population.New(species)
	require.NoError(t, err)
	for i, r := range rooms {
		weather := slices.Repeat([]population.Day{{Low: float64(r.low), High: float64(r.high)}}, days+1)
		climate, err := g.model.Climate(weather)
		require.NoError(t, err)
		for _, name := range r.plants {
			x := &host{name: name, room: i, climate: climate}
			x.cloud, err = g.model.Holding(1, seed*1000+uint64(len(g.plants)), population.Animals{})
			require.NoError(t, err)
			g.treat(x)
			g.plants = append(g.plants, x)
		}
	}
	draw := population.Stream(seed, 2)
	for i := range max(1, invasions*days/365) {
		x := g.plants[draw.IntN(len(g.plants))]
		x.came = append(x.came, 10+i*days/invasions+draw.IntN(20))
	}
	return g
}

// treat does something to what lives on a plant.
func (g *garden) treat(x *host, acts ...population.Act) {
	x.acts = append(x.acts, acts...)
	var err error
	x.kills, err = g.model.Kills(x.climate.Len(), x.acts)
	require.NoError(g.t, err)
}

// live lets a day pass. About a quarter of the animals of a room are adults, which may
// walk over to another plant.
func (g *garden) live(day int) {
	crowd := make([]int, len(rooms))
	for _, x := range g.plants {
		if !x.apart {
			crowd[x.room] += x.cloud.Median()
		}
	}
	for _, x := range g.plants {
		come := 0.0
		if !x.apart {
			near := float64(crowd[x.room]-x.cloud.Median()) / float64(len(rooms[x.room].plants))
			come = min(near*g.model.Wander()/4, 1)
		}
		if slices.Contains(x.came, day) {
			come += 3
		}
		require.NoError(g.t, x.cloud.Live(x.climate, day+1, x.kills, come))
	}
}

// look is what somebody finds on a plant. Nobody counts animals where there are none.
func (g *garden) look(x *host) population.Animals {
	if x.cloud.Present() == 0 {
		return population.Animals{}
	}
	return x.cloud.See(population.Look{Day: x.cloud.Day(), Way: refdata.Eye, Parts: usualParts, Effort: 1}, 0, &g.random).Counts
}

// infested is the number of plants on which something lives.
func (g *garden) infested() (n int) {
	for _, x := range g.plants {
		if x.cloud.Present() > 0 {
			n++
		}
	}
	return n
}

// How the household next door fights: common practice, no source.
const (
	spell     = 8 // days between its sprays
	restAfter = 2 // looks in a row that find nothing, after which it stops
)

// calendar lets the household next door fight: it looks at every plant once a week, sets
// a plant apart on which it finds something, and sprays it at once and every eighth day
// until it finds nothing twice in a row. It gives how often a plant was sprayed.
func (g *garden) calendar(days int) (sprays int) {
	due, clean := map[*host]int{}, map[*host]int{}
	for day := range days {
		for _, x := range g.plants {
			next, fighting := due[x]
			if fighting && day < next || !fighting && day%7 != x.room {
				continue
			}
			switch {
			case g.look(x) != (population.Animals{}):
				clean[x] = 0
			case fighting:
				clean[x]++
			default:
				continue
			}
			if x.apart = clean[x] < restAfter; !x.apart {
				delete(due, x)
				delete(clean, x)
				continue
			}
			due[x] = day + spell
			sprays++
			g.treat(x, population.Act{Day: day, Means: model.MeansSoap})
		}
		g.live(day)
	}
	return sprays
}
