package model_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
)

var device = model.DeviceID{1}

func factID(seq uint64) model.FactID { return model.FactID{Device: device, Seq: seq} }

// anyFacts draws facts of one household, withdrawals of each other among them.
func anyFacts(t *rapid.T) []*model.Fact {
	n := rapid.IntRange(0, 12).Draw(t, "facts")
	facts := make([]*model.Fact, n)
	for i := range facts {
		facts[i] = &model.Fact{
			ID:    factID(uint64(i + 1)),
			Stamp: rapid.Uint64Range(1, 8).Draw(t, "stamp"),
			Body:  anyBody(t, n),
		}
	}
	return facts
}

func anyBody(t *rapid.T, facts int) model.Body {
	plants := func() []model.PlantID {
		var ids []model.PlantID
		for range rapid.IntRange(1, 3).Draw(t, "plants") {
			ids = append(ids, model.PlantID{0: byte(rapid.IntRange(1, 3).Draw(t, "plant"))})
		}
		return ids
	}
	switch rapid.IntRange(0, 4).Draw(t, "body") {
	case 0:
		return &model.Inspection{Plant: plants()[0]}
	case 1:
		return &model.Application{Plants: plants(), Product: model.ProductID{1}}
	case 2:
		return &model.Handling{Kind: model.Isolated, Plants: plants()}
	case 3:
		return &model.PlanAccepted{Plan: model.PlanID{1}, Outbreak: model.OutbreakID{0: byte(rapid.IntRange(1, 2).Draw(t, "outbreak"))}, Plants: plants()}
	}
	return &model.Withdrawn{Fact: factID(uint64(rapid.IntRange(1, facts).Draw(t, "target")))}
}

// readings is all that a book answers about its facts.
type readings struct {
	Facts  []*model.Fact
	Plants [][]*model.Fact
	Plans  [][]*model.Fact
	By     map[model.FactID]*model.Fact
	Len    int
}

func read(b *model.Book, facts []*model.Fact) readings {
	r := readings{Facts: b.Facts(), By: map[model.FactID]*model.Fact{}, Len: b.Len()}
	for p := byte(1); p <= 3; p++ {
		r.Plants = append(r.Plants, b.PlantFacts(model.PlantID{p}))
		r.Plans = append(r.Plans, b.Plans(model.OutbreakID{p}))
	}
	for _, f := range facts {
		r.By[f.ID] = b.WithdrawnBy(f.ID)
	}
	return r
}

// Whatever the order of arrival, however often each fact comes, and whether or
// not somebody reads in between, the book answers alike.
func TestBookDoesNotDependOnTheOrderOfArrival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		facts := anyFacts(t)
		one, other := model.NewBook(model.HouseholdID{1}), model.NewBook(model.HouseholdID{1})
		for _, f := range facts {
			one.Add(f)
		}
		again := append(append([]*model.Fact{}, facts...), facts...)
		for _, f := range rapid.Permutation(again).Draw(t, "order") {
			other.Add(f)
			if rapid.Bool().Draw(t, "read") {
				read(other, facts)
			}
		}
		require.Equal(t, read(one, facts), read(other, facts))
		for i := 1; i < len(one.Facts()); i++ {
			require.Negative(t, model.CompareFacts(one.Facts()[i-1], one.Facts()[i]))
		}
	})
}

func TestEveryFactOfAPlantIsListedOnce(t *testing.T) {
	b := model.NewBook(model.HouseholdID{1})
	p, q := model.PlantID{1}, model.PlantID{2}
	f := &model.Fact{ID: factID(1), Body: &model.Application{Plants: []model.PlantID{p, q, p}}}
	b.Add(f)
	b.Add(&model.Fact{ID: factID(2), Body: &model.TaskCompleted{}})
	require.Equal(t, []*model.Fact{f}, b.PlantFacts(p))
	require.Equal(t, []*model.Fact{f}, b.PlantFacts(q))
	require.Nil(t, b.PlantFacts(model.PlantID{3}))
	require.Equal(t, 2, b.Len())
	got, ok := b.Fact(factID(1))
	require.True(t, ok)
	require.Equal(t, f, got)
	_, ok = b.Fact(factID(3))
	require.False(t, ok)
}

func TestWithdrawal(t *testing.T) {
	look := &model.Fact{ID: factID(1), Stamp: 10, Body: &model.Inspection{Plant: model.PlantID{1}}}
	withdraw := func(seq, stamp, target uint64) *model.Fact {
		return &model.Fact{ID: factID(seq), Stamp: stamp, Body: &model.Withdrawn{Fact: factID(target)}}
	}
	for name, c := range map[string]struct {
		facts []*model.Fact
		by    uint64 // 0 if the look stands
	}{
		"stands":                              {nil, 0},
		"withdrawn":                           {[]*model.Fact{withdraw(2, 20, 1)}, 2},
		"withdrawn twice, the earlier counts": {[]*model.Fact{withdraw(2, 30, 1), withdraw(3, 20, 1)}, 3},
		"the withdrawal was withdrawn":        {[]*model.Fact{withdraw(2, 20, 1), withdraw(3, 30, 2)}, 0},
		"and that one too":                    {[]*model.Fact{withdraw(2, 20, 1), withdraw(3, 30, 2), withdraw(4, 40, 3)}, 2},
		"one of two was withdrawn":            {[]*model.Fact{withdraw(2, 20, 1), withdraw(3, 30, 1), withdraw(4, 40, 2)}, 3},
		"written before what it withdraws":    {[]*model.Fact{withdraw(2, 5, 1)}, 0},
		"a withdrawal of itself":              {[]*model.Fact{withdraw(2, 20, 2)}, 0},
		"two that withdraw each other":        {[]*model.Fact{withdraw(2, 20, 3), withdraw(3, 30, 2), withdraw(4, 40, 1)}, 4},
	} {
		t.Run(name, func(t *testing.T) {
			b := model.NewBook(model.HouseholdID{1})
			b.Add(look)
			for _, f := range c.facts {
				b.Add(f)
			}
			require.Equal(t, c.by == 0, b.Stands(look.ID))
			if by := b.WithdrawnBy(look.ID); c.by != 0 {
				require.Equal(t, factID(c.by), by.ID)
			}
		})
	}
}

func TestThePlanAcceptedLastRules(t *testing.T) {
	b := model.NewBook(model.HouseholdID{1})
	o := model.OutbreakID{1}
	plan := func(seq, stamp uint64) *model.Fact {
		return &model.Fact{ID: factID(seq), Stamp: stamp, Body: &model.PlanAccepted{Plan: model.PlanID{byte(seq)}, Outbreak: o, Plants: []model.PlantID{{1}}}}
	}
	first, second := plan(1, 10), plan(2, 20)
	b.Add(second)
	b.Add(first)
	require.Equal(t, []*model.Fact{first, second}, b.Plans(o))
	b.Add(&model.Fact{ID: factID(3), Stamp: 30, Body: &model.Withdrawn{Fact: second.ID}})
	require.Equal(t, []*model.Fact{first}, b.Plans(o))
	require.Empty(t, b.Plans(model.OutbreakID{2}))
}

func TestPutReachesEveryField(t *testing.T) {
	b := model.NewBook(model.HouseholdID{1})
	at := uuid.UUID{7}
	kinds := []model.Kind{model.KindHousehold, model.KindMember, model.KindDevice, model.KindPlace, model.KindPlant, model.KindProduct, model.KindOutbreak}
	for _, k := range kinds {
		for f := model.Field(1); ; f++ {
			spec, ok := model.Spec(k, f)
			if !ok {
				break
			}
			key := model.FieldKey{Field: f}
			if spec.Set {
				key.Sub = uuid.UUID{8}
			}
			v := model.Value{Type: spec.Type, Text: "x", Int: 1, ID: uuid.UUID{9}}
			b.Put(model.Ref{Kind: k, ID: at}, key, v, 7)
		}
	}
	require.Equal(t, model.Household{ID: model.HouseholdID{1}, Name: "x", Zone: "x", Children: true, Pets: true, NoChemicals: true, Turn: 1}, b.Household)
	require.Equal(t, &model.Member{ID: model.MemberID(at), Name: "x", DigestAt: 1, Evening: true, QuietFrom: 1, QuietTo: 1,
		AwayFrom: 1, AwayUntil: 1, Ends: 1}, b.Members[model.MemberID(at)])
	require.Equal(t, &model.Device{ID: model.DeviceID(at), Name: "x"}, b.Devices[model.DeviceID(at)])
	require.Equal(t, &model.Place{ID: model.PlaceID(at), Name: "x", RoundEvery: 1, Order: 1, Removed: true, Coldest: 1, Warmest: 1,
		Card: 1, Turn: 1, TurnOf: model.MemberID{9}, TurnSet: true}, b.Places[model.PlaceID(at)])
	require.Equal(t, &model.Plant{ID: model.PlantID(at), Name: "x", Species: "x", Place: model.PlaceID{9}, Note: "x",
		Edible: true, Sensitive: true, Removed: true, Weak: true, ThinLeaf: true, CuttingOf: model.PlantID{9}, PotTop: 1, PotBottom: 1, PotHeight: 1}, b.Plants[model.PlantID(at)])
	require.Equal(t, &model.Product{ID: model.ProductID(at), Name: "x", Means: 1, Active: "x", Group: "x", RateUnit: 1, RateMilli: 1,
		MixPerPlantMl: 1, MinInterval: 1, MaxPerSeason: 1, ReentryHours: 1, Pests: "x", Cautions: "x", StockMilli: 1,
		EdibleAllowed: true, MaxCelsius: 1, Site: 1, MostInRow: 1, StockAt: 7, Removed: true}, b.Products[model.ProductID(at)])
	require.Equal(t, &model.Outbreak{ID: model.OutbreakID(at), Pest: 1, Note: "x", Opened: 1, Closed: 1,
		Affects: map[model.PlantID]bool{{8}: true}, Species: 1}, b.Outbreaks[model.OutbreakID(at)])
}

func TestAdmittingLeavesNamesAndRolesAlone(t *testing.T) {
	b := model.NewBook(model.HouseholdID{1})
	b.Put(model.Ref{Kind: model.KindDevice, ID: model.DeviceID{2}.UUID()}, model.FieldKey{Field: model.DeviceName}, model.Text("the phone in the hall"), 7)
	d := model.Device{ID: model.DeviceID{2}, Member: model.MemberID{1}, Key: []byte("k"), Since: 5}
	b.Admit(d)
	b.Members[d.Member].Role = model.Helper
	d.Ended = true
	b.Admit(d)
	require.Equal(t, &model.Member{ID: d.Member, Role: model.Helper}, b.Members[d.Member])
	d.Name = "the phone in the hall"
	require.Equal(t, &d, b.Devices[d.ID])
}
