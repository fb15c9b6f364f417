package app

import (
	"context"
	"errors"
	"strings"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// syncState is what the last sync left behind, as the screens show it.
type syncState struct {
	running bool
	total   int          // entries and photos to send when it began
	seen    oplog.Vector // how far the others' logs were known
	told    int          // how much there was to read
	queue   []replica.Photo

	sending texts.Sending // when this phone sends photos
	sendNow bool          // the next sync sends them all the same
	forced  bool          // the running one does

	mute bool // the server still has to hear that no messages go to this phone
}

// Outcome says which household a sync was of. It travels back to the App's own
// goroutine.
type Outcome struct {
	house *replica.Replica
	muted bool // the server has heard that no messages go to this phone
}

// Job is a sync that is ready to run beside the App.
type Job func(ctx context.Context) Outcome

// BeginSync prepares a sync with the server, or gives nil if there is nobody to
// sync with or one is running. The Job may run on another goroutine; its Outcome
// must be given to EndSync.
func (a *App) BeginSync() (Job, Answer) {
	if a.server == nil || a.syncs.running {
		return nil, Answer{}
	}
	a.syncs.running = true
	a.syncs.total = a.waiting()
	house, server, may, mute := a.house, a.server, a.mayUpload(), a.syncs.mute
	a.syncs.forced, a.syncs.sendNow = a.syncs.sendNow, false
	return func(ctx context.Context) Outcome {
		// What went wrong stays in the replica's Status and in the photo queue.
		out := Outcome{house: house}
		if err := house.Sync(ctx, server); !errors.Is(err, replica.ErrOffline) {
			_ = house.Upload(ctx, server, may)
			out.muted = mute && unsubscribed(ctx, server)
		}
		return out
	}, Answer{Status: a.statusLine()}
}

// Link gives the household that is open and its server, nil if it is on this phone
// only. Both may be used beside the App; package phone watches for changes with them.
func (a *App) Link() (*replica.Replica, *replica.Server) { return a.house, a.server }

// EndSync takes in what a sync found. Where something new arrived, the screen is
// drawn anew, unless a person is filling in a form.
func (a *App) EndSync(ctx context.Context, out Outcome) Answer {
	if a.house != out.house {
		return Answer{}
	}
	a.derived = derived{}
	a.syncs.running, a.syncs.forced = false, false
	a.readQueue(ctx)
	if out.muted {
		a.setMute(ctx, false)
	}
	v := others(a.house)
	told := a.toRead()
	news := !v.Equal(a.syncs.seen) || told != a.syncs.told
	a.syncs.seen, a.syncs.told = v, told
	if a.zone.String() == "" || news {
		a.useZone(ctx, a.vault())
	}
	if !news || a.still || formRoute(a.route) {
		answer := a.showData(ctx)
		answer.Swaps = append(answer.Swaps, a.bar())
		return answer
	}
	answer := a.Go(ctx, a.route)
	answer.Top, answer.Focus, answer.Go = false, "", ""
	return answer
}

// others is how far a phone knows the logs of all others. What it wrote itself is on
// its screen already.
func others(r *replica.Replica) oplog.Vector {
	v := r.Vector()
	delete(v, r.Device())
	return v
}

// Waits reports whether something here has not reached the server, so that trying
// again soon is worth it.
func (a *App) Waits() bool { return a.server != nil && (a.waiting() > 0 || a.syncs.mute) }

// readQueue looks at the photos that wait, so that the status line does not call
// shared what the server has not got. A queue that cannot be read stays as it was.
func (a *App) readQueue(ctx context.Context) {
	if queue, err := a.house.Queue(ctx); err == nil {
		a.syncs.queue = queue
	}
}

// waiting is how much shall be sent. Photos that rest are not meant to.
func (a *App) waiting() int {
	n := a.house.Status().Unsent
	if a.resting() == 0 {
		n += len(a.syncs.queue) - len(a.heldPhotos())
	}
	return n
}

func (a *App) heldPhotos() []replica.Photo {
	var out []replica.Photo
	for _, p := range a.syncs.queue {
		if p.Held {
			out = append(out, p)
		}
	}
	return out
}

// clockOff is how far a phone's clock may be off before its person is told: two
// minutes, in milliseconds.
const clockOff = 2 * 60 * 1000

// statusLine says where the data is. It never says shared before the server has
// acknowledged everything of this phone.
func (a *App) statusLine() string {
	t := a.t.Status
	if a.house == nil {
		return t.Nothing
	}
	if a.house.Local() {
		return t.Sample
	}
	s, n := a.house.Status(), a.waiting()
	switch {
	case a.signedOff() != nil:
		return a.t.Members.OutTitle // the household's screen says the rest
	case s.Blocked != nil:
		return t.Refused(s.Blocked.Words)
	case len(a.heldPhotos()) > 0:
		return t.Failed(len(a.heldPhotos()))
	case a.syncs.running && n > 0:
		total := max(a.syncs.total, n)
		return t.Sending(total-n, total)
	case n > 0 && s.Trouble != nil && !errors.Is(s.Trouble, replica.ErrOffline):
		return t.Refused(s.Trouble.Words)
	case n > 0:
		return t.Waiting(n)
	case a.resting() > 0:
		return a.t.Photos.Resting(a.resting())
	case s.Offset > clockOff || s.Offset < -clockOff:
		return t.ClockOff
	case s.Shared != 0:
		return t.Shared(a.clock(s.Shared))
	}
	return t.Saved
}

// clock is a moment's time of day in the household's zone.
func (a *App) clock(i model.Instant) string {
	t := i.In(a.zone)
	return a.t.Format.Clock(t.Hour(), t.Minute())
}

// untilTonight is the end of a claim made now: the end of the day, or of the next
// one if the day is nearly over.
func (a *App) untilTonight() model.Instant {
	end := a.today().Add(1).Start(a.zone)
	if end-a.now() < model.Instant(2*time.Hour/time.Millisecond) {
		end = a.today().Add(2).Start(a.zone)
	}
	return end
}

// formRoute reports whether a route shows a form, which must not be redrawn under
// somebody's fingers.
func formRoute(route string) bool {
	name, rest := splitRoute(route)
	switch name {
	case "first", "product", "place", "card", "confirm", "reminders":
		return true
	case "plants":
		return rest == "new"
	case "household":
		return rest == "rejoin" || rest == "file" || strings.HasPrefix(rest, "member/")
	case "plant":
		_, sub := cutRoute(rest)
		return sub != ""
	case "outbreak":
		_, sub := cutRoute(rest)
		return sub == "course"
	}
	return false
}

func (a *App) retryUpload(ctx context.Context, e Event) Answer {
	sum, err := model.ParsePhotoSum(e.Data.Get("upload"))
	if err == nil {
		err = a.house.RetryPhoto(ctx, sum)
	}
	return a.afterQueue(ctx, err, "")
}

func (a *App) dropUpload(ctx context.Context, e Event) Answer {
	sum, err := model.ParsePhotoSum(e.Data.Get("upload"))
	if err == nil {
		err = a.house.DropPhoto(ctx, sum)
	}
	return a.afterQueue(ctx, err, a.t.Say.UploadDropped)
}

func (a *App) afterQueue(ctx context.Context, err error, say string) Answer {
	if err != nil {
		return Answer{Say: a.words(err)}
	}
	a.readQueue(ctx)
	answer := a.Go(ctx, a.route)
	answer.Say = say
	return answer
}

func (a *App) saveCopy(ctx context.Context, e Event) Answer {
	sum, err := model.ParsePhotoSum(e.Data.Get("upload"))
	if err != nil {
		return Answer{}
	}
	data, mime, err := a.house.PhotoBytes(ctx, nil, sum, 0)
	if err != nil {
		return Answer{Say: a.words(err)}
	}
	return Answer{Save: &Download{Name: sum.String()[:12] + extension(mime), Type: mime, Bytes: data}}
}

func extension(mime string) string {
	switch mime {
	case "image/png":
		return ".png"
	case "image/webp":
		return ".webp"
	}
	return ".jpg"
}

// Photo gives a photo for the page, from this phone or, if it is not here, from the
// server.
func (a *App) Photo(sum string, size int) func(ctx context.Context) (data []byte, mime string, err error) {
	house, server := a.house, a.server
	return func(ctx context.Context) ([]byte, string, error) {
		s, err := model.ParsePhotoSum(sum)
		if err != nil || house == nil {
			return nil, "", replica.ErrNoPhoto
		}
		return house.PhotoBytes(ctx, server, s, size)
	}
}
