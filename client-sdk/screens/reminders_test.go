package screens_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

func remindersView() screens.RemindersView {
	turns := []screens.Named{{ID: screens.TurnAnyone, Name: t0.Reminders.Anyone}, {ID: screens.TurnRotating, Name: t0.Reminders.Rotating}}
	return screens.RemindersView{
		Member: "m1", Name: "Mirek", Me: true, DigestAt: "07:30", Evening: true, QuietFrom: "22:00", QuietTo: "07:00", AwayFrom: "2026-12-20",
		Push: screens.PushView{State: texts.PushOn}, Calendar: screens.CalendarView{Link: "https://leaf.example/api/v1/feed/invented.ics"},
		Others: []screens.Named{{ID: "m2", Name: "Jonna"}}, Turns: turns, Turn: screens.TurnRotating,
	}
}

func reminderExamples(t *texts.Catalogue) []example {
	guest := screens.RemindersView{Member: "m3", Name: "Sitter", MayEnd: true, Ends: "2026-12-24", Problem: t.Reminders.NeedTime}
	return []example{
		{"reminders", screens.SpotHousehold, screens.Reminders(t, remindersView())},
		{"reminders-guest", screens.SpotHousehold, screens.Reminders(t, guest)},
	}
}

// Only a state in which a tap helps offers one.
func TestPushOffersWhatHelps(t *testing.T) {
	for state, want := range map[texts.PushState]string{
		texts.PushAsked: "", texts.PushOn: "off", texts.PushUnknown: "off", texts.PushOff: "on", texts.PushRefused: "", texts.PushFailed: "on", texts.PushNone: "", texts.PushInsecure: "",
	} {
		t.Run(string(state), func(t *testing.T) {
			got := h.Render(screens.PushPanel(t0, screens.PushView{State: state}))
			require.Contains(t, got, t0.Reminders.Push[state])
			for _, how := range []string{"on", "off"} {
				require.Equal(t, how == want, strings.Contains(got, `data-shell="push" data-how="`+how+`"`), how)
			}
		})
	}
}
