package app

import (
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// household is two phones of two members who know the same.
func (w *world) household(role model.Role) (ada, ben *phone) {
	ada, ben = w.phone(), w.phone()
	ada.restart(screens.RouteSetup + w.setup)
	ada.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	ada.do(screens.ActAddPlant, "first", "1", "name", "Fern", "newplace", "Window sill")
	ada.sync()
	ada.do(screens.ActInvite, "role", strconv.Itoa(int(role)))
	ben.do(screens.ActJoin, "invitation", ada.value(`#join=([A-Za-z0-9_-]+)`), "name", "Ben", "phone", "Old phone")
	ada.sync()
	return ada, ben
}

func (p *phone) memberRecord(id model.MemberID) (m model.Member) {
	p.house.Read(func(b *model.Book) { m = *b.Members[id] })
	return m
}

func (p *phone) remind(fields ...string) Answer {
	return p.do(screens.ActSaveReminders, append([]string{"member", p.house.Member().String()}, fields...)...)
}

func TestReminderSettings(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	require.NotContains(t, ada.open(screens.RouteReminders), `value="07:30"`)
	ada.remind("digest", "07:30", "evening", "1", "quietfrom", "22:00", "quietto", "07:00", "awayfrom", "2030-01-02", "awayuntil", "2030-01-05")
	for range 2 {
		page := ada.open(screens.RouteReminders)
		for _, want := range []string{`value="07:30"`, `value="22:00"`, `value="07:00"`, `value="2030-01-02"`, `value="2030-01-05"`} {
			require.Contains(t, page, want)
		}
		ada.restart(screens.RouteToday)
	}
	m := ada.memberRecord(ada.house.Member())
	require.Equal(t, 450, m.DigestAt)
	require.True(t, m.Evening)
	require.Equal(t, []int{22 * 60, 7 * 60}, []int{m.QuietFrom, m.QuietTo})

	before := ada.digest()
	ada.remind("digest", "08:00", "quietfrom", "22:00")
	require.Contains(t, ada.main(), ada.App.t.Reminders.NeedTime)
	require.Contains(t, ada.main(), `value="08:00"`, "what was typed stays")
	ada.remind("awayfrom", "2030-01-05", "awayuntil", "2030-01-02")
	require.Contains(t, ada.main(), ada.App.t.Reminders.NeedSpan)
	require.Equal(t, before, ada.digest(), "nothing was written")

	ada.remind()
	m = ada.memberRecord(ada.house.Member())
	require.Zero(t, m.DigestAt)
	require.False(t, m.Evening)
	require.Zero(t, m.AwayFrom)
	require.Contains(t, ben.open(screens.RouteReminders), "Reminders")
	require.NotContains(t, ben.main(), `data-do="save-turn"`, "only keepers set the household's")
	require.NotContains(t, ben.open(screens.RemindersRoute(ada.house.Member().String())), "quietfrom", "nor another's")
}

// A keeper sets a guest's last day; the guest does not.
func TestAGuestsLastDay(t *testing.T) {
	w := newWorld(t)
	ada, sitter := w.household(model.Guest)
	require.NotContains(t, sitter.open(screens.RouteReminders), `name="ends"`)
	guest := sitter.house.Member()
	require.Contains(t, ada.open(screens.RouteReminders), guest.String())
	require.Contains(t, ada.open(screens.RemindersRoute(guest.String())), `name="ends"`)
	last := ada.today().Add(3)
	ada.do(screens.ActSaveReminders, "member", guest.String(), "ends", last.String())
	ada.sync()
	sitter.sync()
	sitter.remind("digest", "09:00")
	require.Equal(t, last, sitter.memberRecord(guest).Ends, "saving the rest leaves it")
	sitter.remind("ends", last.Add(30).String())
	require.Equal(t, last, sitter.memberRecord(guest).Ends)
}

func TestWhoseTurn(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	place := ada.standsIn("Fern")
	require.Contains(t, ada.open(screens.PlaceRoute(place)), "Always Ben")
	turn := func(turn string) (task string) {
		ada.do(screens.ActSavePlace, "place", place, "name", "Window sill", "rhythm", "7", "turn", turn)
		require.Contains(t, ada.open(screens.PlaceRoute(place)), `value="`+turn+`" selected`)
		return ada.open(screens.RouteToday)
	}
	require.Contains(t, turn(ben.house.Member().String()), "Ben’s turn")
	require.Contains(t, turn(ada.house.Member().String()), "Your turn")
	require.NotContains(t, turn(screens.TurnAnyone), "turn</span>")
	require.Regexp(t, "Your turn|Ben’s turn", turn(screens.TurnRotating))
	require.NotContains(t, turn(screens.TurnHousehold), "turn</span>")
	ada.do(screens.ActSaveTurn, "turn", screens.TurnRotating)
	require.Regexp(t, "Your turn|Ben’s turn", ada.open(screens.RouteToday))
	require.Contains(t, ada.open(screens.RouteReminders), `value="rotating" selected`)
}

func (p *phone) standsIn(plant string) (place string) {
	p.house.Read(func(b *model.Book) {
		for _, x := range b.Plants {
			if x.Name == plant {
				place = x.Place.String()
			}
		}
	})
	return place
}

func TestPushOnThisPhone(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	answer := ada.Go(t.Context(), screens.RouteReminders)
	require.Equal(t, "look", answer.Push)
	const good = `{"endpoint":"https://push.example.net/a","expirationTime":null,"keys":{"p256dh":"BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4","auth":"BTBZMqHH6r4Tts7J_aSIgg"}}`
	say := func(how, state, subscription string) string {
		ada.do(screens.ActPush, "how", how, "state", state, "subscription", subscription)
		return ada.page[screens.IDPush]
	}
	words := ada.App.t.Reminders.Push
	require.Contains(t, say("look", "off", ""), words[texts.PushOff])
	require.Contains(t, say("look", "refused", ""), words[texts.PushRefused])
	require.Contains(t, say("look", "nonsense", ""), words[texts.PushRefused], "it stays as it was")
	require.Contains(t, say("on", "off", good), words[texts.PushOn])
	require.Contains(t, say("look", "off", `{"endpoint":"http://127.0.0.1/a","keys":{"p256dh":"A","auth":"A"}}`), words[texts.PushUnknown])
	require.Contains(t, say("off", "off", ""), words[texts.PushOff])
	ada.sync()
	ada.link.out = true
	require.Contains(t, say("look", "off", good), words[texts.PushUnknown], "not called on before the server knows")
}

// Messages that were turned off without a network are ended on the server later, also
// when the app was closed meanwhile.
func TestTurningPushOffOffline(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	off := func() { ada.do(screens.ActPush, "how", "off", "state", "off", "subscription", "") }
	ended := func() (n int) {
		for _, r := range ada.link.asked {
			if strings.HasPrefix(r, "DELETE ") && strings.HasSuffix(r, "/push") {
				n++
			}
		}
		return n
	}
	ada.link.out = true
	require.False(t, ada.Waits())
	off()
	require.Contains(t, ada.page[screens.IDPush], ada.App.t.Reminders.Push[texts.PushOff])
	ada.sync()
	require.Zero(t, ended())
	require.True(t, ada.Waits(), "it is tried again soon")
	ada.restart(screens.RouteToday)
	require.True(t, ada.Waits())
	ada.link.out = false
	ada.sync()
	require.Equal(t, 1, ended())
	require.False(t, ada.Waits())
	ada.sync()
	ada.restart(screens.RouteToday)
	ada.sync()
	require.Equal(t, 1, ended(), "once it is settled")
	ada.link.out = true
	off()
	ada.link.out = false
	ada.do(screens.ActPush, "how", "on", "state", "off", "subscription", "{}")
	ada.sync()
	require.Equal(t, 1, ended(), "they were wanted again before that")
}

// The words of messages name nothing, and there is one for each number.
func TestNotesAreForTheServiceWorker(t *testing.T) {
	w := newWorld(t)
	ada := w.phone()
	answer := ada.App.Start(t.Context(), ada.env, "")
	require.Equal(t, WordsPath, answer.Keepsake.Path)
	var notes texts.Notes
	require.NoError(t, json.Unmarshal([]byte(answer.Keepsake.Body), &notes))
	require.Equal(t, ada.App.t.Notes, notes)
	require.Equal(t, "1 task for today", notes.Digest[1])
	require.Equal(t, "2 tasks still open", notes.Evening[2])
	require.Len(t, notes.Evening, len(notes.Digest))
}

func TestCalendarLink(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	ada.open(screens.RouteReminders)
	ada.do(screens.ActMakeCalendar)
	link := func() string {
		p := ada.page[screens.IDCalendar]
		_, rest, ok := strings.Cut(p, `id="calendar-link">`)
		require.True(t, ok, p)
		link, _, _ := strings.Cut(rest, "<")
		return link
	}()
	get := func() (int, string) {
		resp, err := http.Get(link)
		require.NoError(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, string(body)
	}
	require.True(t, strings.HasPrefix(link, w.origin+"/api/v1/feed/"), link)
	status, body := get()
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, "Look round: Window sill")
	require.Equal(t, link, ada.do(screens.ActCopyLink, "link", link).Clip)
	ada.do(screens.ActEndCalendar)
	status, _ = get()
	require.Equal(t, http.StatusNotFound, status)
	require.NotContains(t, ada.page[screens.IDCalendar], link)
}

func TestDueIsWhatIsMine(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	require.Equal(t, 1, ada.Due())
	place := ada.standsIn("Fern")
	ada.do(screens.ActSavePlace, "place", place, "name", "Window sill", "rhythm", "7", "turn", ben.house.Member().String())
	require.Zero(t, ada.Due())
	ada.sync()
	ben.sync()
	require.Equal(t, 1, ben.Due())
}
