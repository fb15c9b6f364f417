package main

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"leafturn/server/notify/webpush"
	"leafturn/server/notify/webpush/webpushtest"
)

// browsers is how many browsers there are; households share them, because making
// their keys is not what is measured.
const browsers = 64

// push is the push service. It reads none of the messages: encryption is held
// against its standard elsewhere.
type push struct {
	service  *webpushtest.Service
	began    time.Time // when the server's clock showed eight
	browsers []webpushtest.Browser

	mu    sync.Mutex
	came  []time.Time // guarded by mu; by household, when its note came
	left  int         // guarded by mu
	again int         // guarded by mu; notes that came once more
	all   chan struct{}
}

func newPush(households int) *push {
	p := &push{came: make([]time.Time, households), left: households, all: make(chan struct{})}
	for i := range browsers {
		p.browsers = append(p.browsers, webpushtest.NewBrowser(uint64(i)))
	}
	p.service = webpushtest.NewService(p.take)
	return p
}

func (p *push) subscription(number int) webpush.Subscription {
	return p.browsers[number%browsers].Subscription(p.service.Endpoint("/" + strconv.Itoa(number)))
}

// take notes a message and forgets it.
func (p *push) take(t webpushtest.Taken) webpushtest.Answer {
	number, err := strconv.Atoi(strings.TrimPrefix(t.Path, "/"))
	p.mu.Lock()
	defer p.mu.Unlock()
	if err != nil || number < 0 || number >= len(p.came) || t.Header.Get("Topic") == "" {
		return webpushtest.Answer{Status: http.StatusBadRequest}
	}
	if !p.came[number].IsZero() {
		p.again++
	} else {
		p.came[number] = time.Now()
		if p.left--; p.left == 0 {
			close(p.all)
		}
	}
	return webpushtest.Answer{Status: http.StatusAccepted}
}

var errRepeated = errors.New("notes came more than once although nobody was killed")

// sum prints how late the notes were, counted from the moment the server said that
// it is eight.
func (p *push) sum() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.again > 0 {
		return fmt.Errorf("%w: %d", errRepeated, p.again)
	}
	late := make([]float64, len(p.came))
	for i, t := range p.came {
		late[i] = t.Sub(p.began).Seconds()
	}
	slices.Sort(late)
	last := late[len(late)-1]
	figure("digests", float64(len(late)), "notes")
	figure("late-p50-s", late[len(late)/2], "s")
	figure("late-p99-s", late[len(late)*99/100], "s")
	figure("late-last-s", last, "s")
	figure("digests-per-s", float64(len(late))/last, "1/s")
	return nil
}
