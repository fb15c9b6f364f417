package sample

import (
	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// place is one of the places. Their order is that of the walk.
type place int

const (
	kitchen place = iota
	hall
	bedroom
	livingRoom
	places
)

// rooms says how many days lie between the rounds of a place, and how warm it is, in
// tenths of a degree Celsius.
var rooms = [places]struct{ every, coldest, warmest int }{kitchen: {7, 180, 220}, hall: {14, 160, 190}, bedroom: {14, 160, 200}, livingRoom: {7, 170, 210}}

// plant is one of the plants.
type plant int

const (
	monstera plant = iota
	philodendron
	alocasia
	snakePlant
	zzPlant
	calathea // thrown out
	basil
	chilli
	africanViolet
	spiderPlant
	peaceLily
	pothos
	fern
	hoya
	orchid // came in ten days ago
	plants
)

// homes says where each plant stands, and what its keepers know about it.
var homes = [plants]struct {
	place             place
	edible, sensitive bool
}{
	monstera: {place: livingRoom}, philodendron: {place: livingRoom}, alocasia: {place: livingRoom},
	snakePlant: {place: livingRoom}, zzPlant: {place: livingRoom}, calathea: {place: livingRoom, sensitive: true},
	basil: {place: kitchen, edible: true}, chilli: {place: kitchen, edible: true},
	africanViolet: {place: kitchen, sensitive: true}, spiderPlant: {place: kitchen},
	peaceLily: {place: bedroom}, pothos: {place: bedroom}, fern: {place: bedroom, sensitive: true},
	hoya: {place: hall}, orchid: {place: hall},
}

// product is one of the products on the shelf.
type product int

const (
	soap product = iota
	oil
	spinosad // bought when soap did too little
	products
)

// labels are the figures of invented labels. They are put in so that the app has
// something to reckon with, and are no recommendation; the cautions of each product
// say so.
var labels = [products]struct {
	means                                          model.Means
	rateMilli, perPlantMl, interval, season, hours int
	celsius, stockMl, inRow                        int
	group                                          string // of its mode of action
}{
	soap:     {means: model.MeansSoap, rateMilli: 15_000, perPlantMl: 150, interval: 7, season: 6, hours: 2, celsius: 30, stockMl: 420},
	oil:      {means: model.MeansOil, rateMilli: 10_000, perPlantMl: 120, interval: 14, season: 4, hours: 12, celsius: 28, stockMl: 250},
	spinosad: {means: model.MeansContactSpray, rateMilli: 1_000, perPlantMl: 120, interval: 7, season: 6, hours: 4, celsius: 30, stockMl: 20, inRow: 4, group: "5"},
}

// moving is how the household began.
func moving(zone string) []event {
	return []event{
		{moment{-40, 18, 0}, func(t *tale) {
			t.found()
			t.write(keeper, replica.Set(model.KindHousehold, t.household,
				replica.To(model.HouseholdName, model.Text(t.words.household)), replica.To(model.HouseholdZone, model.Text(zone))))
		}},
		{moment{-40, 18, 10}, furnish},
		{moment{-39, 19, 0}, func(t *tale) { t.join(helper, model.Helper) }},
		{moment{-38, 19, 30}, func(t *tale) { t.join(guest, model.Guest) }},
	}
}

func furnish(t *tale) {
	for p := range places {
		t.places[p] = model.PlaceID(t.o.NewID())
		t.write(keeper, replica.Set(model.KindPlace, t.places[p], replica.To(model.PlaceName, model.Text(t.words.places[p])),
			replica.To(model.PlaceRoundEvery, model.Int(rooms[p].every)), replica.To(model.PlaceOrder, model.Int(int(p))),
			replica.To(model.PlaceColdest, model.Int(rooms[p].coldest)), replica.To(model.PlaceWarmest, model.Int(rooms[p].warmest))))
	}
	for p := range plants {
		if p != orchid {
			t.pass(1)
			t.potted(p)
		}
	}
	t.shelve(oil)
}

// potted adds a plant.
func (t *tale) potted(p plant) {
	home, name := homes[p], t.words.plants[p]
	t.plants[p] = model.PlantID(t.o.NewID())
	fields := []oplog.Setting{replica.To(model.PlantName, model.Text(name.name)), replica.To(model.PlantSpecies, model.Text(name.species)),
		replica.To(model.PlantPlace, model.IDValue(t.places[home.place]))}
	if home.edible {
		fields = append(fields, replica.To(model.PlantEdible, model.Bool(true)))
	}
	if home.sensitive {
		fields = append(fields, replica.To(model.PlantSensitive, model.Bool(true)))
	}
	t.write(keeper, replica.Set(model.KindPlant, t.plants[p], fields...))
}

// shelve adds a product with what its invented label says.
func (t *tale) shelve(p product) {
	label, text := labels[p], t.words.products[p]
	t.products[p] = model.ProductID(t.o.NewID())
	t.write(keeper, replica.Set(model.KindProduct, t.products[p],
		replica.To(model.ProductName, model.Text(text.name)),
		replica.To(model.ProductMeans, model.Int(label.means)),
		replica.To(model.ProductActive, model.Text(text.active)),
		replica.To(model.ProductGroup, model.Text(label.group)),
		replica.To(model.ProductRateUnit, model.Int(model.RateMlPerLitre)),
		replica.To(model.ProductRateMilli, model.Int(label.rateMilli)),
		replica.To(model.ProductMixPerPlantMl, model.Int(label.perPlantMl)),
		replica.To(model.ProductMinInterval, model.Int(label.interval)),
		replica.To(model.ProductMaxPerSeason, model.Int(label.season)),
		replica.To(model.ProductMostInRow, model.Int(label.inRow)),
		replica.To(model.ProductReentryHours, model.Int(label.hours)),
		replica.To(model.ProductMaxCelsius, model.Int(label.celsius)),
		replica.To(model.ProductStockMilli, model.Int(label.stockMl*1000)),
		replica.To(model.ProductPests, model.Text(text.pests)),
		replica.To(model.ProductSite, model.Int(model.SiteNamed)),
		replica.To(model.ProductCautions, model.Text(text.cautions))))
}
