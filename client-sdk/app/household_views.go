package app

import (
	"cmp"
	"context"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/sync/hlc"
)

func (a *App) showHousehold(ctx context.Context, rest string) Answer {
	switch rest {
	case "":
		return a.screen(screens.SpotHousehold, screens.Household(a.t, a.householdView(ctx)))
	case "invite":
		if a.house.Local() || a.house.Role() != model.Keeper {
			return Answer{}
		}
		return a.screen(screens.SpotHousehold, screens.Invite(a.t, a.inviteView(model.Helper, "")))
	case "data":
		return a.screen(screens.SpotHousehold, screens.DataScreen(a.t, a.dataView(ctx)))
	case "poisoned":
		return a.screen(screens.SpotHousehold, screens.Poison(a.t))
	}
	return a.showMembers(rest)
}

func (a *App) householdView(ctx context.Context) screens.HouseholdView {
	v := screens.HouseholdView{Guest: !a.mayChange(), Removals: a.removals(model.KindPlace, model.KindProduct), Sample: a.house.Local(), CanInvite: a.house.Role() == model.Keeper && !a.house.Local(), Data: a.dataView(ctx)}
	me := a.house.Member()
	a.house.Read(func(b *model.Book) {
		v.Name = b.Household.Name
		v.Members = a.memberRows(b, me)
		v.Products = a.productRows(b)
		for _, p := range orderedPlaces(b) {
			v.Places = append(v.Places, screens.PlaceRow{ID: p.ID.String(), Name: p.Name, Rhythm: a.rhythm(p), Warmth: a.warmth(p), Plants: len(plantsAt(b, p.ID))})
		}
	})
	return v
}

// warmth is from the coldest to the warmest of a day, "" if nobody has said.
func (a *App) warmth(p *model.Place) string {
	if p.Coldest == 0 && p.Warmest == 0 {
		return ""
	}
	return a.t.Ahead.Span(a.t.Ahead.Celsius(p.Coldest), a.t.Ahead.Celsius(p.Warmest))
}

func (a *App) rhythm(p *model.Place) string {
	if words := a.t.Words.Rhythm[p.RoundEvery]; words != "" {
		return words
	}
	return a.t.Format.Days(p.RoundEvery)
}

func (a *App) memberRows(b *model.Book, me model.MemberID) []screens.MemberRow {
	var rows []screens.MemberRow
	ids := make([]model.MemberID, 0, len(b.Members))
	for id := range b.Members {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(x, y model.MemberID) int {
		return cmp.Or(cmp.Compare(b.Members[x].Role, b.Members[y].Role), strings.Compare(b.Members[x].Name, b.Members[y].Name), model.CompareIDs(x, y))
	})
	heard := heardAt(b)
	for _, id := range ids {
		m := b.Members[id]
		if m.Role == 0 && id != me {
			continue // who left, or was removed
		}
		row := screens.MemberRow{ID: id.String(), Name: a.who(b, id), Role: a.t.Words.Role[m.Role], Me: id == me}
		for _, d := range devicesOf(b, id) {
			if d.Ended {
				continue
			}
			row.Phones = append(row.Phones, a.lastHeard(b, d.ID, heard[d.ID]))
		}
		rows = append(rows, row)
	}
	return rows
}

// lastHeard is a phone's name with the day on which it wrote last, if it has.
func (a *App) lastHeard(b *model.Book, d model.DeviceID, at model.Instant) string {
	if at == 0 {
		return a.deviceName(b, d)
	}
	return a.t.Household.LastHeard(a.deviceName(b, d), a.dayOf(at))
}

// heardAt is when each phone last wrote a fact.
func heardAt(b *model.Book) map[model.DeviceID]model.Instant {
	out := map[model.DeviceID]model.Instant{}
	for _, f := range b.Facts() {
		out[f.ID.Device] = model.Instant(hlc.Stamp(f.Stamp).Millis())
	}
	return out
}

func devicesOf(b *model.Book, m model.MemberID) []*model.Device {
	var out []*model.Device
	for _, d := range b.Devices {
		if d.Member == m {
			out = append(out, d)
		}
	}
	slices.SortFunc(out, func(x, y *model.Device) int {
		return cmp.Or(strings.Compare(x.Name, y.Name), model.CompareIDs(x.ID, y.ID))
	})
	return out
}

// shelf are the products by name.
func shelf(b *model.Book) []*model.Product {
	var out []*model.Product
	for _, p := range b.Products {
		if !p.Removed {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(x, y *model.Product) int {
		return cmp.Or(strings.Compare(x.Name, y.Name), model.CompareIDs(x.ID, y.ID))
	})
	return out
}

func (a *App) productRows(b *model.Book) []screens.ProductRow {
	var rows []screens.ProductRow
	for _, p := range shelf(b) {
		row := screens.ProductRow{ID: p.ID.String(), Name: p.Name, Means: a.t.Words.Means[p.Means]}
		if p.StockMilli > 0 {
			row.Stock = a.t.Format.Stock(p.RateUnit, agenda.StockLeft(b, p))
		}
		rows = append(rows, row)
	}
	return rows
}

func (a *App) dataView(ctx context.Context) screens.DataView {
	v := screens.DataView{Notices: a.notices(), Status: a.statusLine(), Sample: a.house.Local(), Version: a.o.Version,
		Sending: a.syncs.sending, Network: a.network()}
	if digest, err := a.house.Digest(); err == nil {
		v.Digest = hex.EncodeToString(digest[:])
	}
	vector := a.house.Vector()
	total := uint64(0)
	a.house.Read(func(b *model.Book) {
		for _, d := range vector.Devices() {
			total += vector[d]
			name := d.String()[:8]
			if x := b.Devices[d]; x != nil && x.Name != "" {
				name = x.Name
			}
			v.Vector = append(v.Vector, screens.VectorRow{Phone: name, Seq: strconv.FormatUint(vector[d], 10)})
		}
	})
	v.Entries = strconv.FormatUint(total, 10)
	if n := a.house.Status().Unsent; n > 0 && a.server != nil {
		v.Waiting = strconv.Itoa(n)
	}
	a.readQueue(ctx)
	size := int64(0)
	for _, p := range a.syncs.queue {
		size += int64(p.Bytes)
	}
	if n := len(a.syncs.queue); n > 0 {
		v.Photos = a.t.Data.PhotosHeld(n, n, a.t.Format.Bytes(size))
	}
	v.Resting = a.resting()
	for _, p := range a.heldPhotos() {
		v.Failed = append(v.Failed, screens.FailedUpload{ID: p.Sum.String(), Title: a.t.Format.Day(p.Added.Date(a.zone)), Size: a.t.Format.Bytes(int64(p.Bytes)),
			Reason: p.Words, Photo: &screens.Photo{Sum: p.Sum.String(), Alt: a.t.Format.Day(p.Added.Date(a.zone))}})
	}
	return v
}

func (a *App) showPlace(_ context.Context, rest string) Answer {
	if rest == "new" && !a.mayChange() {
		return Answer{}
	}
	v := screens.PlaceFormView{Rhythm: 7}
	if rest != "new" {
		place, err := model.ParseID[model.Place](rest)
		if err != nil {
			return Answer{}
		}
		a.house.Read(func(b *model.Book) {
			if p := b.Places[place]; p != nil {
				v = screens.PlaceFormView{Place: rest, Name: p.Name, Rhythm: p.RoundEvery, Card: p.Card}
				v.Guest = a.isGuest(b)
				v.Turns, v.Turn = a.placeTurns(b, p)
				if p.Coldest != 0 || p.Warmest != 0 {
					v.Coldest, v.Warmest = tenthsText(p.Coldest), tenthsText(p.Warmest)
				}
			}
		})
		if v.Place == "" {
			return Answer{}
		}
	}
	return a.screen(screens.SpotHousehold, screens.PlaceForm(a.t, v))
}

func (a *App) showProduct(_ context.Context, rest string) Answer {
	if rest == "new" && !a.mayChange() {
		return Answer{}
	}
	var v screens.ProductFormView // of a new product only its label knows anything
	if rest != "new" {
		product, err := model.ParseID[model.Product](rest)
		if err != nil {
			return Answer{}
		}
		a.house.Read(func(b *model.Book) {
			if p := b.Products[product]; p != nil {
				v = formOf(p, agenda.StockLeft(b, p))
				v.Guest = a.isGuest(b)
			}
		})
		if v.Product == "" {
			return Answer{}
		}
	}
	return a.screen(screens.SpotHousehold, screens.ProductForm(a.t, v))
}

// formOf is a product as its form shows it. What is left of it is what the person corrects.
func formOf(p *model.Product, left int) screens.ProductFormView {
	return screens.ProductFormView{
		Product: p.ID.String(), Name: p.Name, Means: p.Means, Active: p.Active, Group: p.Group, Unit: p.RateUnit,
		Rate: milliText(p.RateMilli), PerPlant: intText(p.MixPerPlantMl), Interval: intText(p.MinInterval), Season: intText(p.MaxPerSeason), InRow: intText(p.MostInRow), Site: p.Site,
		Reentry: intText(p.ReentryHours), MaxHeat: intText(p.MaxCelsius), Pests: p.Pests, Cautions: p.Cautions,
		Stock: stockText(p, left), Edible: p.EdibleAllowed,
	}
}

// intText leaves a field empty where the label says nothing.
func intText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// stockText is what is left, "" if nobody ever said.
func stockText(p *model.Product, left int) string {
	if p.StockMilli == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(left)/1000, 'f', -1, 64)
}

func tenthsText(n int) string { return strconv.FormatFloat(float64(n)/10, 'f', -1, 64) }

func milliText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(n)/1000, 'f', -1, 64)
}
