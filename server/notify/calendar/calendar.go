// Package calendar writes calendars as files that calendar programs read (iCalendar,
// RFC 5545).
//
// A calendar holds events, each for a whole day and none repeating: tasks move when
// plants are treated late or the room is warm, so every one has its own date and
// needs no zone. An event keeps its UID for ever; a program that fetches the calendar
// again knows by the sequence number that an event it knows has changed.
package calendar

import (
	"bytes"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"leafturn/model"
)

// Calendar is a list of events.
type Calendar struct {
	Name   string
	Events []Event
}

// Event is one day's event.
type Event struct {
	UID      string // the same as long as it is the same thing, and nobody else's
	Day      model.Date
	Summary  string
	Details  string
	Estimate bool      // the day is an estimate
	Sequence int       // rises with every change
	Changed  time.Time // when it was last changed
}

// ContentType is the media type of what Encode gives.
const ContentType = "text/calendar; charset=utf-8"

// product names the program that wrote a file (RFC 5545, section 3.7.3).
const product = "-//Leafturn//Tasks//EN"

// refresh is how often programs are asked to fetch again (RFC 7986, section 5.7).
const refresh = "PT1H"

// Encode is the calendar as a file.
func (c *Calendar) Encode() []byte {
	var w writer
	w.line("BEGIN:VCALENDAR")
	w.line("VERSION:2.0")
	w.line("PRODID:" + product)
	w.line("CALSCALE:GREGORIAN")
	w.text("NAME", c.Name)
	w.text("X-WR-CALNAME", c.Name) // programs that are older than NAME
	w.line("REFRESH-INTERVAL;VALUE=DURATION:" + refresh)
	for i := range c.Events {
		w.event(&c.Events[i])
	}
	w.line("END:VCALENDAR")
	return w.buf.Bytes()
}

type writer struct{ buf bytes.Buffer }

func (w *writer) event(e *Event) {
	changed := e.Changed.UTC().Format("20060102T150405Z")
	w.line("BEGIN:VEVENT")
	w.text("UID", e.UID)
	w.line("DTSTAMP:" + changed)
	w.line("LAST-MODIFIED:" + changed)
	w.line("SEQUENCE:" + strconv.Itoa(e.Sequence))
	w.line("DTSTART;VALUE=DATE:" + date(e.Day))
	w.line("DTEND;VALUE=DATE:" + date(e.Day.Add(1))) // the first day that is not in it
	w.text("SUMMARY", e.Summary)
	if e.Details != "" {
		w.text("DESCRIPTION", e.Details)
	}
	status := "CONFIRMED"
	if e.Estimate {
		status = "TENTATIVE"
	}
	w.line("STATUS:" + status)
	w.line("CLASS:PRIVATE")
	w.line("TRANSP:TRANSPARENT") // the day is free for other things
	w.line("END:VEVENT")
}

func date(d model.Date) string { return d.UTC().Format("20060102") }

// text writes a property whose value people may have written. What could end the
// line, or the value, is escaped or left out, so that no text becomes a property.
func (w *writer) text(name, value string) { w.line(name + ":" + escape(value)) }

var escapes = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`)

func escape(s string) string {
	s = escapes.Replace(strings.ToValidUTF8(s, "\uFFFD"))
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return -1
		}
		return r
	}, s)
}

// lineOctets is how long a line may be, without its end (RFC 5545, section 3.1).
const lineOctets = 75

// line writes a line, folded where it is too long, and never inside a character.
func (w *writer) line(s string) {
	room := lineOctets
	for len(s) > room {
		at := room
		for !utf8.RuneStart(s[at]) {
			at--
		}
		w.buf.WriteString(s[:at])
		w.buf.WriteString("\r\n ")
		s = s[at:]
		room = lineOctets - 1 // the blank counts
	}
	w.buf.WriteString(s)
	w.buf.WriteString("\r\n")
}
