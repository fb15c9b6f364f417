package calendar_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/server/notify/calendar"
)

var changed = time.Date(2026, 3, 14, 9, 26, 53, 0, time.FixedZone("", 3600))

func event(summary string) calendar.Event {
	return calendar.Event{
		UID: "2ed6657d-e927-568b-95e1-2665a8aea6a2", Day: model.DateOf(2026, 3, 31), Summary: summary,
		Details: "One\nTwo", Sequence: 17, Changed: changed,
	}
}

func TestAWholeCalendar(t *testing.T) {
	c := calendar.Calendar{Name: "Leafturn", Events: []calendar.Event{event("Look round: Kitchen window")}}
	require.Equal(t, strings.ReplaceAll(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//Leafturn//Tasks//EN
CALSCALE:GREGORIAN
NAME:Leafturn
X-WR-CALNAME:Leafturn
REFRESH-INTERVAL;VALUE=DURATION:PT1H
BEGIN:VEVENT
UID:2ed6657d-e927-568b-95e1-2665a8aea6a2
DTSTAMP:20260314T082653Z
LAST-MODIFIED:20260314T082653Z
SEQUENCE:17
DTSTART;VALUE=DATE:20260331
DTEND;VALUE=DATE:20260401
SUMMARY:Look round: Kitchen window
DESCRIPTION:One\nTwo
STATUS:CONFIRMED
CLASS:PRIVATE
TRANSP:TRANSPARENT
END:VEVENT
END:VCALENDAR
`, "\n", "\r\n"), string(c.Encode()))
}

// No text becomes a line of its own: there are as many lines of each kind as there
// would be without it. No line is too long, and none ends inside a character.
func TestNoTextEndsItsLine(t *testing.T) {
	hostile := rapid.OneOf(
		rapid.String(),
		rapid.SampledFrom([]string{
			"a\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:b", "a\nATTACH:http://x", "\r", "\n ", "\\", "\\n", "\\\r\n", "a;b,c:d\"e", "\x00\x1b\x7f\u0085",
			"\u2028BEGIN:VEVENT", strings.Repeat("ü", 200), strings.Repeat("🪴", 100), strings.Repeat("a", 74) + "é", "\xff\xfe", "",
		}),
		rapid.StringOf(rapid.RuneFrom([]rune("\r\n\t \\;:,\"BEGINVT🪴é"))),
	)
	rapid.Check(t, func(t *rapid.T) {
		e := event(hostile.Draw(t, "summary"))
		e.Details, e.UID = hostile.Draw(t, "details")+"x", hostile.Draw(t, "uid")
		c := calendar.Calendar{Name: hostile.Draw(t, "name"), Events: []calendar.Event{e, event("plain")}}
		out := c.Encode()
		require.True(t, utf8.Valid(out))
		require.True(t, bytes.HasSuffix(out, []byte("\r\n")))
		unfolded := 0
		for _, line := range strings.Split(strings.TrimSuffix(string(out), "\r\n"), "\r\n") {
			require.LessOrEqual(t, len(line), 75)
			require.NotContains(t, line, "\r")
			require.NotContains(t, line, "\n")
			require.True(t, utf8.ValidString(line), "split inside a character")
			if !strings.HasPrefix(line, " ") {
				unfolded++
			}
		}
		require.Equal(t, 8+2*13, unfolded)
	})
}

// read is an event as another parser reads it.
type read struct {
	UID, Summary, Description, Start, End, Status, Stamp string
	Sequence                                             int
	AllDay                                               bool
}

// reader reads calendars with a parser that is not ours, under Node. It is there
// where LEAFTURN_NODE_TESTS is 1, and then it must be.
func reader(t *testing.T) func(t *testing.T, calendar []byte) []read {
	t.Helper()
	dir := filepath.Join("testdata", "reader")
	if os.Getenv("LEAFTURN_NODE_TESTS") != "1" {
		if _, err := os.Stat(filepath.Join(dir, "node_modules")); err != nil {
			t.Skip("needs Node and npm ci in " + dir + "; LEAFTURN_NODE_TESTS=1 makes it a must")
		}
	}
	return func(t *testing.T, calendar []byte) (events []read) {
		t.Helper()
		cmd := exec.Command("node", "read.mjs")
		cmd.Dir, cmd.Stdin = dir, bytes.NewReader(calendar)
		var said bytes.Buffer
		cmd.Stderr = &said
		out, err := cmd.Output()
		require.NoError(t, err, said.String())
		require.NoError(t, json.Unmarshal(out, &events))
		return events
	}
}

func TestAnotherParserReadsTheSame(t *testing.T) {
	read := reader(t)
	texts := []string{
		"Look round: Kitchen window", `Commas, semicolons; back\slashes and "quotes": all of them`,
		"Lines\nand\r\nmore", "a\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:b", strings.Repeat("Fensterbänke 🪴 ", 30), `\n is not a line`, ` begins blank`,
	}
	c := calendar.Calendar{Name: "Leafturn"}
	for i, text := range texts {
		e := event(text)
		e.UID, e.Day, e.Sequence, e.Estimate = e.UID[:35]+string(rune('0'+i)), model.DateOf(2028, 2, 28).Add(i), i, i%2 == 1
		c.Events = append(c.Events, e)
	}
	got := read(t, c.Encode())
	require.Len(t, got, len(texts), "as many events as there are")
	for i, e := range got {
		want := c.Events[i]
		require.Equal(t, want.UID, e.UID)
		require.Equal(t, strings.ReplaceAll(texts[i], "\r\n", "\n"), e.Summary)
		require.Equal(t, "One\nTwo", e.Description)
		require.True(t, e.AllDay)
		require.Equal(t, want.Day.String(), e.Start)
		require.Equal(t, want.Day.Add(1).String(), e.End)
		require.Equal(t, i, e.Sequence)
		require.Equal(t, "2026-03-14T08:26:53Z", e.Stamp)
		require.Equal(t, []string{"CONFIRMED", "TENTATIVE"}[i%2], e.Status)
	}
}
