// Package app is the phone app without a browser: events go in, answers come out.
//
// A person's tap, a changed address or a tick of the clock is an Event; what it
// changes on the page is an Answer, mostly fragments of HTML made by package
// screens. Package phone carries both between this package and the page. Nothing
// here knows JavaScript, so all of it is tested natively.
//
// An App is driven by one goroutine. Syncing runs beside it and may take its time:
// Sync only touches the replica, which guards itself, and ends in an Event.
package app

import (
	"context"
	"errors"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/fault"
)

// Options are what the app is built on.
type Options struct {
	Main      replica.Vault // the household of this phone
	Sample    replica.Vault // the sample household, apart from it
	Transport replica.Transport
	Replica   replica.Options
	Version   string
	// File fetches a file of the app itself, such as a sample photo.
	File     func(ctx context.Context, path string) ([]byte, error)
	Darkroom Darkroom
	// Network, if set, says what network the phone is on. It is also asked beside the App.
	Network func() texts.Network
	// Breathe, if set, is called often during long work, so that a single thread can
	// do something else in between.
	Breathe func()
}

// Env is what the page says about where it runs.
type Env struct {
	Zone   string // IANA name of the phone's zone
	East   int    // seconds east of UTC right now, for when the zone is not known
	Origin string // scheme and host that the page came from
}

// Event is something a person did on the page.
type Event struct {
	Do    string // an action of package screens
	Data  Data
	Files []File
}

// File is a file that a person chose.
type File struct {
	Field string
	Name  string
	Bytes []byte
}

// Answer is what the page shall do. The zero Answer does nothing.
type Answer struct {
	Swaps  []Swap
	Go     string // an address to go to
	Title  string
	Say    string // a short word about what happened
	Undo   *Undo
	Focus  string
	Top    bool // scroll to the top
	Status string
	Clip   string // text for the clipboard
	Keep   bool   // the same form again: what was entered stays, a chosen file goes
	Save   *Download
	Work   Work // to be begun beside the App

	Push     string    // "look" asks the browser whether messages come here; it answers by screens.ActPush
	Keepsake *Keepsake // for the service worker
}

// Swap puts HTML in place of the content of an element.
type Swap struct {
	Target string
	HTML   string
	Outer  bool // in place of the element itself
}

// Undo offers to take back what was just done.
type Undo struct {
	Label string
	ID    string
}

// Keepsake is a text that the service worker finds under a path of the app.
type Keepsake struct{ Path, Type, Body string }

// Download is a file for the person to keep.
type Download struct {
	Name, Type string
	Bytes      []byte
}

// App is the phone app.
type App struct {
	o   Options
	t   *texts.Catalogue
	env Env

	house   *replica.Replica // nil before set-up
	server  *replica.Server  // nil in the sample
	zone    *time.Location
	route   string
	spot    screens.Spot // whose screen is open
	still   bool         // the screen answers to something just done and has no address of its own
	walks   map[string]*walk
	undos   undos
	link    *invitation // the one last made, to show again
	syncs   syncState
	mine    bool // Today shows only what is for the person who owns this phone
	after   *afterFinding
	shots   *shots // of the finding form
	leaf    *measuring
	pair    *comparing
	card    *carding
	packing *packing
	story   story
	tasks   agenda.Cache
	derived derived // for the event at hand
	aheads  map[model.OutbreakID]*ahead

	plannings map[model.OutbreakID]*planning
}

// New makes the app. Start must be called before anything else.
func New(o Options) *App {
	return &App{o: o, t: texts.English(), zone: time.UTC, walks: map[string]*walk{}}
}

// Start opens the household that this phone had open last, and shows the screen
// of the address.
func (a *App) Start(ctx context.Context, env Env, hash string) Answer {
	a.env = env
	err := a.open(ctx, a.o.Sample)
	if errors.Is(err, replica.ErrNobody) {
		err = a.open(ctx, a.o.Main)
	}
	if err != nil && !errors.Is(err, replica.ErrNobody) {
		return a.broken(err)
	}
	answer := a.Go(ctx, hash)
	answer.Keepsake = a.notes()
	return answer
}

// open takes up the household of a vault.
func (a *App) open(ctx context.Context, v replica.Vault) error {
	r, err := replica.Open(ctx, v, a.o.Replica)
	if err != nil {
		return err
	}
	return a.enter(ctx, v, r)
}

// enter makes a replica the household that the app shows.
func (a *App) enter(ctx context.Context, v replica.Vault, r *replica.Replica) error {
	a.house, a.server = r, nil
	if !r.Local() {
		a.server = r.Server(a.o.Transport)
	}
	a.walks, a.link, a.after, a.undos = map[string]*walk{}, nil, nil, undos{}
	a.shots, a.leaf, a.pair, a.card, a.packing = nil, nil, nil, nil, nil
	a.aheads, a.plannings = nil, nil
	a.syncs = syncState{seen: others(r)}
	a.useSending(ctx, v)
	_ = r.DropDrafts(ctx) // those that could not be dropped are dropped another time
	a.readQueue(ctx)
	a.readShown(ctx, v)
	a.readMute(ctx, v)
	a.useZone(ctx, v)
	return nil
}

// vault is where the open household lives.
func (a *App) vault() replica.Vault {
	if a.house != nil && a.house.Local() {
		return a.o.Sample
	}
	return a.o.Main
}

// broken says that the phone's own data could not be read.
func (a *App) broken(err error) Answer {
	words := a.words(err)
	return Answer{Title: a.t.Problem.Title, Swaps: []Swap{a.swap(screens.IDMain, screens.Problem(a.t, screens.ProblemView{
		Happened: words, Safe: a.t.Status.Saved, Do: a.t.Say.NotSaved,
	}))}}
}

// words are what a person reads about an error.
func (a *App) words(err error) string {
	if f, ok := fault.From(err); ok {
		return f.Words
	}
	return a.t.Say.NotSaved
}

func (a *App) swap(target string, n h.Node) Swap { return Swap{Target: target, HTML: h.Render(n)} }

// now is the moment, by the phone's corrected clock.
func (a *App) now() model.Instant { return a.house.Now() }

// today is the civil day in the household's zone.
func (a *App) today() model.Date { return a.now().Date(a.zone) }
