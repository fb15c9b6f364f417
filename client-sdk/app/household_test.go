package app

import (
	"context"
	"encoding/hex"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// The whole way of a household, without a browser: two phones and the true server.
func TestTwoPhones(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.phone(), w.phone()

	ada.restart(screens.RouteSetup + w.setup)
	require.Contains(t, ada.main(), `data-do="found"`)
	ada.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	require.Contains(t, ada.main(), "Mill Lane")
	for _, name := range []string{"Fern", "Calathea", "Basil"} {
		ada.do(screens.ActAddPlant, "first", "1", "name", name, "newplace", "Window sill")
	}
	ada.sync()
	require.Contains(t, ada.page["status"], "Shared")

	ada.do(screens.ActInvite, "role", strconv.Itoa(int(model.Helper)))
	require.Contains(t, ada.main(), "only to the machine you are on", "nobody is sent to an address that leads nowhere")
	invitation := ada.value(`#join=([A-Za-z0-9_-]+)`)
	ben.do(screens.ActJoin, "invitation", invitation, "name", "Ben", "phone", "Old phone")
	require.Contains(t, ben.page["status"], "Shared", "%s", ben.main())
	require.Contains(t, ben.open(screens.RoutePlants), "Calathea")

	third := w.phone()
	third.do(screens.ActJoin, "invitation", invitation, "name", "Eve", "phone", "x")
	require.Contains(t, third.main(), "invitation", "a used invitation is refused with words")
	require.Nil(t, third.house)

	product := func(name string) string {
		ada.do(screens.ActAddProduct, "name", name, "means", "1", "unit", "2", "rate", "15", "perplant", "150", "interval", "5", "season", "8", "stock", "500")
		return ada.value(`#/product/([0-9a-f-]{36})`)
	}("Invented soap")

	// Both phones go offline. Ada walks the round and finds something.
	ada.link.out, ben.link.out = true, true
	place := func() string {
		var id string
		ada.house.Read(func(b *model.Book) {
			for _, p := range b.Places {
				id = p.ID.String()
			}
		})
		return id
	}()
	require.Contains(t, ada.open(screens.RoundRoute(place)), "1 of 3")
	ada.do(screens.ActNothingFound, "plant", ada.plant("Basil"), "place", place)
	require.Contains(t, ada.main(), "2 of 3")
	photo, err := os.ReadFile("../../testdata/photos/leaf-underside-with-position.jpg")
	require.NoError(t, err)
	calathea := ada.plant("Calathea")
	ada.snap(calathea, photo)
	ada.do(screens.ActSaveFinding, "plant", calathea, "place", place, "part", "1", "sign", "2", "sign", "4", "count1", "5", "count3", "1", "damage", "2")
	require.Contains(t, ada.main(), `data-do="open-outbreak"`)
	ada.do(screens.ActOpenOutbreak, "plant", calathea, "pest", "1")
	outbreak := ada.value(`#/outbreak/([0-9a-f-]{36})/plans`)
	ada.open(screens.CourseRoute(outbreak))
	tomorrow := ada.today().Add(1).String()
	ada.do(screens.ActAcceptCourse, "outbreak", outbreak, "product", product, "interval", "7", "applications", "4", "first", tomorrow, "check", "3")
	require.Contains(t, ada.main(), "Invented soap")
	ben.do(screens.ActNothingFound, "plant", ben.plant("Fern"))
	require.Contains(t, ada.page["status"], "Saved on this phone")

	// A reload without network finds everything again.
	ada.restart(screens.RouteToday)
	require.Contains(t, ada.main(), "Spray 1 plant")

	// Back online the partner sees tomorrow's spray, the amount and the photo.
	ada.link.out, ben.link.out = false, false
	ada.sync()
	ben.sync()
	ada.sync()
	require.Contains(t, ben.open(screens.RouteToday), "Spray 1 plant")
	require.Contains(t, ben.main(), "2.25 ml in 150 ml of water", "15 ml per litre, 150 ml for one plant")
	page := ben.open(screens.PlantRoute(calathea))
	sum := ben.value(`data-photo="([0-9a-f]{64})"`)
	require.Contains(t, page, "Ada")
	thumb, mime, err := ben.Photo(sum, 320)(context.Background())
	require.NoError(t, err)
	require.Equal(t, "image/jpeg", mime)
	require.NotEmpty(t, thumb)
	require.Equal(t, ada.digest(), ben.digest())

	// A day later both spray, without knowing of each other.
	w.pass(day)
	ada.link.out, ben.link.out = true, true
	for _, p := range []*phone{ada, ben} {
		p.open(screens.RouteToday)
		task := p.value(`#/confirm/(2\.[0-9a-f.-]+)`)
		require.Contains(t, p.open(screens.ConfirmRoute(task)), "The label comes first")
		p.do(screens.ActApply, "task", task, "part", "1", "part", "3", "amount", "150")
	}
	ada.link.out, ben.link.out = false, false
	ada.sync()
	ben.sync()
	ada.sync()
	require.Equal(t, ada.digest(), ben.digest())
	for _, p := range []*phone{ada, ben} {
		today := p.open(screens.RouteToday)
		require.Contains(t, today, `data-do="settle"`, "both see the flag")
		require.Contains(t, today, "Ada")
		require.Contains(t, today, "Ben")
		applications := 0
		p.house.Read(func(b *model.Book) {
			for _, f := range b.Facts() {
				if _, ok := f.Body.(*model.Application); ok && b.Stands(f.ID) {
					applications++
				}
			}
		})
		require.Equal(t, 2, applications, "both stand")
	}
	server, err := ada.server.Digest(context.Background())
	require.NoError(t, err)
	mine := ada.digest()
	require.Equal(t, hex.EncodeToString(mine[:]), server)

	task := ben.value(`data-do="settle" data-task="([^"]+)" data-how="both"`)
	ben.do(screens.ActSettle, "task", task, "how", "both")
	ben.sync()
	ada.sync()
	require.NotContains(t, ada.open(screens.RouteToday), `data-do="settle"`)
}

func TestAClockThatIsWrongIsTold(t *testing.T) {
	ada := beginner(t)
	today := ada.today()
	ada.skew = day
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"))
	ada.sync()
	require.Equal(t, ada.App.t.Status.ClockOff, ada.page["status"])
	require.Equal(t, today, ada.today(), "and the phone goes by the server's")
}

func TestEveryActionIsCarriedOut(t *testing.T) {
	for _, name := range screens.Actions {
		require.NotNil(t, actions[name], name)
	}
	require.Len(t, actions, len(screens.Actions))
}

func TestNoInvitationIsLeftBehindWithoutNetwork(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	before := p.digest()
	p.link.out = true
	p.do(screens.ActInvite, "role", "2")
	require.Contains(t, p.main(), p.App.t.Invite.NeedsServer)
	require.Equal(t, before, p.digest())
}

func TestUndoTakesBack(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	p.do(screens.ActAddPlant, "name", "Fern", "newplace", "Sill")
	p.open(screens.RoutePlants)
	fern := p.plant("Fern")
	p.open(screens.PlantRoute(fern))
	answer := p.do(screens.ActNothingFound, "plant", fern)
	require.NotNil(t, answer.Undo)
	p.do(screens.ActUndo, "id", answer.Undo.ID)
	p.house.Read(func(b *model.Book) {
		for _, f := range b.PlantFacts(mustPlant(t, fern)) {
			require.False(t, b.Stands(f.ID))
		}
	})
	answer = p.do(screens.ActGone, "plant", fern)
	require.NotContains(t, p.main(), fern)
	p.do(screens.ActUndo, "id", answer.Undo.ID)
	require.Contains(t, p.open(screens.RoutePlants), fern)
}

func mustPlant(t *testing.T, text string) model.PlantID {
	id, err := model.ParseID[model.Plant](text)
	require.NoError(t, err)
	return id
}

func TestSampleIsApart(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	before := p.digest()
	p.do(screens.ActSample)
	require.True(t, p.house.Local())
	require.Contains(t, p.open(screens.RouteToday), "Spray")
	job, _ := p.BeginSync()
	require.Nil(t, job, "the sample is never sent")
	p.restart("")
	require.True(t, p.house.Local(), "it stays open over a reload")
	p.do(screens.ActLeaveSample)
	require.False(t, p.house.Local())
	require.Equal(t, before, p.digest())
}

func TestBadInputIsSaidInWords(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActFound, "setup", "nonsense", "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	require.Contains(t, p.main(), "set-up link")
	require.Nil(t, p.house)
	p.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	require.NotNil(t, p.house, "a good link works after a bad one: %s", p.main())
	p.do(screens.ActAddPlant, "name", "Fern", "newplace", "Sill")
	fern := p.plant("Fern")
	p.snap(fern, []byte("no picture"))
	require.Contains(t, p.page[screens.IDShots], "not a photo")
	p.house.Read(func(b *model.Book) { require.Zero(t, b.Len(), "nothing was noted") })
	require.NotEmpty(t, p.open("#/plant/not-an-id"), "an address that leads nowhere shows Today")
	require.Equal(t, screens.RouteToday, p.route)
}

// The outbreak page of the sample shows what lies ahead, computed here, the same
// every time.
func TestOutbreakLooksAhead(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActSample)
	p.open(screens.RouteOutbreaks)
	route := p.value(`(#/outbreak/[0-9a-f-]{36})"`)
	page := p.open(route)
	require.Contains(t, page, p.App.t.Forecast.Title)
	require.Contains(t, page, p.App.t.Clear.Title)
	require.Contains(t, page, "Big monstera")
	first := p.main()
	p.do(screens.ActWorkOut, "outbreak", route[len("#/outbreak/"):])
	require.Equal(t, first, p.main(), "the same seed gives the same picture")
}

// Webbing with pale dots is the textbook picture of spider mites (Kansas State
// University MF2922 and others, see model/identify/signs.csv); the form says so
// while it is filled in, and asks for what would tell others apart.
func TestFormNamesSuspects(t *testing.T) {
	w := newWorld(t)
	p := w.phone()
	p.do(screens.ActSample)
	fern := p.plant("Sword fern")
	p.open(screens.FindingRoute(fern, ""))
	p.do(screens.ActIdentify, "plant", fern, "part", "1", "sign", "1", "sign", "8")
	panel := p.page[screens.IDIdentify]
	mites, thrips := strings.Index(panel, p.App.t.Words.Pest[model.PestSpiderMite]), strings.Index(panel, p.App.t.Words.Pest[model.PestThrips])
	require.GreaterOrEqual(t, mites, 0, "%s", panel)
	require.True(t, thrips < 0 || mites < thrips, "mites come first")

	p.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", "1", "sign", "8")
	require.Contains(t, p.main(), `data-do="looked-for"`)
	sign := p.value(`data-do="looked-for"[^>]*data-sign="(\d+)"`)
	p.do(screens.ActLookedFor, "plant", fern, "finding", "", "sign", sign, "answer", screens.AnswerAbsent)
	require.Contains(t, p.main(), p.App.t.Words.Pest[model.PestSpiderMite])
}
