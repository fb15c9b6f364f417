package app

import (
	"context"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// beginner is a phone that has founded a household with one plant and shared it.
func beginner(t *testing.T) *phone {
	w := newWorld(t)
	p := w.phone()
	p.restart(screens.RouteSetup + w.setup)
	p.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	p.do(screens.ActAddPlant, "first", "1", "name", "Fern", "newplace", "Window sill")
	p.sync()
	require.Contains(t, p.page["status"], "Shared")
	return p
}

func TestFindingThatIsRefused(t *testing.T) {
	p := beginner(t)
	fern := p.plant("Fern")
	place := p.value(`value="([0-9a-f-]{36})"`)
	p.open(screens.FindingRoute(fern, place))

	t.Run("keeps what was entered", func(t *testing.T) {
		p.snap(fern, []byte("no photo"))
		require.Contains(t, p.page[screens.IDShots], "not a photo")
		require.True(t, p.do(screens.ActSaveFinding, "plant", fern, "place", place).Keep)
	})
	t.Run("stays in its place of the bar after a sync", func(t *testing.T) {
		drawn := p.page[screens.IDBar]
		p.sync()
		require.Equal(t, drawn, p.page[screens.IDBar])
	})
}

func TestPhotoThatWaitsIsNotShared(t *testing.T) {
	p := beginner(t)
	data, err := os.ReadFile("../../testdata/photos/leaf-underside-1.jpg")
	require.NoError(t, err)
	p.snap(p.plant("Fern"), data)
	require.Contains(t, p.statusLine(), "Shared", "nothing shows the photo yet")
	p.do(screens.ActSaveFinding, "plant", p.plant("Fern"), "sign", "1")
	require.NoError(t, p.house.Sync(context.Background(), p.server)) // the entry, not the photo
	require.Zero(t, p.house.Status().Unsent)
	require.NotContains(t, p.statusLine(), "Shared")
	p.restart("")
	require.NotContains(t, p.statusLine(), "Shared", "also after a reload")
	p.sync()
	require.Contains(t, p.page["status"], "Shared")
}

func TestInvitationOnAPhoneOfAHousehold(t *testing.T) {
	p := beginner(t)
	p.do(screens.ActInvite, "role", strconv.Itoa(int(model.Helper)))
	link := screens.RouteJoin + p.value(`#join=([A-Za-z0-9_-]+)`)
	answer := p.Go(context.Background(), link)
	require.Equal(t, screens.RouteToday, answer.Go)
	require.Contains(t, answer.Say, "already belongs")
}

// Two people correct one label without knowing of each other, in different fields.
func TestProductChangedByTwo(t *testing.T) {
	ada := beginner(t)
	label := func(p *phone, more ...string) {
		fields := map[string]string{"name": "Invented soap", "means": "1", "unit": "2", "rate": "15", "interval": "5", "stock": "500"}
		for i := 0; i < len(more); i += 2 {
			fields[more[i]] = more[i+1]
		}
		var flat []string
		for k, v := range fields {
			flat = append(flat, k, v)
		}
		p.do(screens.ActSaveProduct, flat...)
	}
	label(ada)
	product := ada.value(`#/product/([0-9a-f-]{36})`)
	ada.do(screens.ActInvite, "role", strconv.Itoa(int(model.Helper)))
	ben := ada.w.phone()
	ben.do(screens.ActJoin, "invitation", ada.value(`#join=([A-Za-z0-9_-]+)`), "name", "Ben", "phone", "Old phone")

	ada.link.out, ben.link.out = true, true
	label(ada, "product", product, "interval", "7")
	label(ben, "product", product, "stock", "480")
	ada.link.out, ben.link.out = false, false
	for _, p := range []*phone{ada, ben, ada} {
		p.sync()
	}
	for _, p := range []*phone{ada, ben} {
		p.house.Read(func(b *model.Book) {
			require.Len(t, b.Products, 1)
			for _, x := range b.Products {
				require.Equal(t, 7, x.MinInterval)
				require.Equal(t, 480_000, x.StockMilli)
			}
		})
	}
	entries := ada.house.Vector()
	label(ada, "product", product, "interval", "7", "stock", "480")
	require.Equal(t, entries, ada.house.Vector(), "nothing changed, so nothing is written")
}

// An address may be of a household that this phone has left, such as the sample.
func TestAddressesThatLeadNowhere(t *testing.T) {
	p := beginner(t)
	gone := p.house.NewID().String()
	for _, address := range []string{
		screens.OutbreakRoute(gone), screens.CourseRoute(gone), screens.PlantRoute(gone), screens.FindingRoute(gone, ""), screens.FindingRoute(gone, gone),
		screens.RoundRoute(gone), "#/product/" + gone, "#/place/" + gone, "#/photo/" + gone, "#/confirm/" + gone, "#/nothing",
	} {
		t.Run(address, func(t *testing.T) {
			require.Equal(t, screens.RouteToday, p.Go(context.Background(), address).Go)
		})
	}
}

func TestMilli(t *testing.T) {
	for _, c := range []struct {
		words string
		want  int
		ok    bool
	}{
		{"", 0, true}, {"2.5", 2500, true}, {"2,5", 2500, true}, {"1000000", 1_000_000_000, true},
		{"1000001", 0, false}, {"-1", 0, false}, {"NaN", 0, false}, {"Inf", 0, false}, {strconv.Itoa(math.MaxInt), 0, false}, {"two", 0, false},
	} {
		t.Run(c.words, func(t *testing.T) {
			got, ok := Data{"n": {c.words}}.Milli("n")
			require.Equal(t, c.ok, ok)
			require.Equal(t, c.want, got)
		})
	}
}
