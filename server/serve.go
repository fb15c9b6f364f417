package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"leafturn/server/auth"
	"leafturn/server/datadir"
	"leafturn/server/httpapi"
)

// How long requests that are under way may take to end when the server is told to
// stop. The stores are closed after that, within three seconds in all.
const drainTime = 2 * time.Second

// parts are the stores and use cases behind the routes.
type parts struct {
	directory      auth.Directory
	public, member []httpapi.Mount
	stop           func()       // ends what would go on for as long as phones like
	failed         <-chan error // tells that a store must not be used any more
	close          func() error
}

// serve runs the server until ctx ends. What can be refused at once is tried
// before what takes long.
func (p *program) serve(ctx context.Context, s settings, _ []effective) (err error) {
	dir, err := datadir.Open(s.data)
	if err != nil {
		return err
	}
	defer closing(dir.Close, &err)
	ln, err := listen(s.listen)
	if err != nil {
		return err
	}
	defer ln.Close() // again, if the server has closed it
	app, err := p.phoneApp(ctx, s)
	if err != nil {
		return err
	}
	key, err := auth.LoadKey(dir.Key())
	if err != nil {
		return err
	}
	log := newLog(p.err, s.log)
	setup := auth.NewSetup(time.Now)
	behind, err := openParts(dir, s, setup, log)
	if err != nil {
		return err
	}
	defer closing(behind.close, &err)
	defer context.AfterFunc(ctx, behind.stop)()
	api := httpapi.New(httpapi.Config{
		Auth:    auth.New(key, behind.directory, time.Now),
		App:     app,
		Log:     log,
		Now:     time.Now,
		Public:  behind.public,
		Member:  behind.member,
		Limits:  httpapi.Limits{SignIn: s.signIns},
		Proxies: s.proxies,
	})
	if err := p.greet(s, dir, ln, setup); err != nil {
		return err
	}
	return runUntil(ctx, api, ln, behind.failed, log)
}

// closing closes a part and keeps its error if there is no earlier one.
func closing(close func() error, err *error) {
	if e := close(); *err == nil {
		*err = e
	}
}

// greet prints where the server is and issues the set-up link.
func (p *program) greet(s settings, dir *datadir.Dir, ln net.Listener, setup *auth.Setup) error {
	url := s.publicURL
	if url == "" {
		url = urlOf(ln.Addr().(*net.TCPAddr), net.InterfaceAddrs)
	}
	token, expires := setup.Issue(s.setup)
	return banner{
		data:    dir.Path(),
		url:     url,
		token:   token,
		expires: expires,
		colour:  hasColour(p.out, p.getenv),
	}.print(p.out)
}

// server is the part of the HTTP app that running it takes.
type server interface {
	Listener(net.Listener) error
	ShutdownWithTimeout(time.Duration) error
}

// runUntil serves until ctx ends, the listener fails or a store fails. After a
// store has failed, nothing is acknowledged any more: the process ends and the
// next one opens the store afresh.
func runUntil(ctx context.Context, api server, ln net.Listener, failed <-chan error, log *slog.Logger) error {
	served := make(chan error, 1)
	go func() { served <- api.Listener(ln) }()
	select {
	case err := <-served:
		return fmt.Errorf("serve: %w", err)
	case err := <-failed:
		return fmt.Errorf("store failed: %w", err)
	case <-ctx.Done():
	}
	if err := api.ShutdownWithTimeout(drainTime); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("stop serving: %w", err)
	} else if err != nil {
		log.Warn("some requests were cut off")
	}
	return nil
}
