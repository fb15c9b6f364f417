package notify

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"time"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/server/notify/webpush"
)

// Kind is what a note is for. The texts cross the wire: do not change them.
type Kind string

// The kinds.
const (
	Digest   Kind = "digest"   // what is due on this day
	Evening  Kind = "evening"  // what is still open
	Withdraw Kind = "withdraw" // nothing is open any more: take the note away
)

// Note is the text of a push message, in JSON. A phone shows one note at a time: it
// uses the topic as the notification's tag, so that a note with the same topic takes
// the place of the one on the screen, closes notes of earlier days, and answers a
// withdrawal by closing the note with its topic. It finds the words itself; no name
// of a plant, a place or a person is in a note.
type Note struct {
	Version int    `json:"v"` // 1
	Kind    Kind   `json:"kind"`
	Topic   string `json:"topic"`   // one for each person and day
	Day     string `json:"day"`     // the household's civil day, as 2006-01-02
	Due     int    `json:"due"`     // how many tasks are open for the person, with those overdue
	Overdue int    `json:"overdue"` // how many of them should have been done before this day
}

const noteVersion = 1

// topicBytes of a SHA-256 make 24 characters. A push service takes 32 at most.
const topicBytes = 18

// topic names the notes of one person and day. It tells a push service nothing: who
// does not know the household's id cannot guess what it was made from.
func topic(h model.HouseholdID, m model.MemberID, day model.Date) string {
	sum := sha256.New()
	sum.Write([]byte("leafturn note v1\n"))
	sum.Write(h[:])
	sum.Write(m[:])
	sum.Write(binary.BigEndian.AppendUint32(nil, uint32(day)))
	return base64.RawURLEncoding.EncodeToString(sum.Sum(nil)[:topicBytes])
}

// counts are how many tasks a note is about.
type counts struct{ due, overdue int }

// count counts a member's tasks of today. A step that waits for another one is not
// due before that one is done.
func count(a *agenda.Agenda, m *model.Member) (c counts) {
	for _, t := range a.For(m, a.Today.Tasks) {
		if t.Projected {
			continue
		}
		c.due++
		if t.Overdue > 0 {
			c.overdue++
		}
	}
	return c
}

// message is a note ready to be sent. It is of no use once its day, or what is left
// of it before the quiet hours, is over.
func (t *turn) message(c clock, kind Kind) (webpush.Message, error) {
	n := Note{noteVersion, kind, topic(t.phone.Household, t.member, c.today), c.today.String(), t.counts.due, t.counts.overdue}
	text, err := json.Marshal(n)
	if err != nil {
		return webpush.Message{}, fmt.Errorf("write note: %w", err)
	}
	ttl := time.Duration(t.ends(c)-c.now) * time.Millisecond
	return webpush.Message{Topic: n.Topic, TTL: ttl, Urgency: webpush.Normal, Text: text}, nil
}
