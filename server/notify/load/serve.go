package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"sync/atomic"
	"syscall"
	"time"

	"leafturn/server/auth"
	"leafturn/server/household"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/server/notify/webpush/webpushtest"
)

// spec is what the server's process is told.
type spec struct {
	Dir, Origin string
	Certificate []byte
}

// startServer runs the server's process until all notes have come.
func startServer(ctx context.Context, dir string, p *push) error {
	told, err := json.Marshal(spec{dir, p.service.Endpoint(""), p.service.Certificate()})
	if err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, self)
	cmd.Env = append(os.Environ(), serverRole+"="+string(told))
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != itIsEight {
		fmt.Println(lines.Text())
	}
	p.began = time.Now()
	select {
	case <-p.all:
	case <-ctx.Done():
	}
	if err := in.Close(); err != nil { // the sign to end
		return err
	}
	for lines.Scan() {
		fmt.Println(lines.Text())
	}
	return cmd.Wait()
}

// itIsEight is the line by which the server says so.
const itIsEight = "it is eight"

// serve is the server: it plans at night, then lives from eight on, and ends when
// its standard input does.
func serve(ctx context.Context, text string) error {
	var s spec
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		return err
	}
	db, err := open(s.Dir)
	if err != nil {
		return err
	}
	var offset atomic.Int64
	offset.Store(int64(time.Until(night)))
	now := func() time.Time { return time.Now().Add(time.Duration(offset.Load())) }
	key, err := auth.LoadSenderKey(filepath.Join(s.Dir, "push.key"), "", now)
	if err != nil {
		return err
	}
	figure("memory-open-mb", resident("VmRSS"), "MB")
	policy := webpushtest.PolicyOf(s.Origin, s.Certificate)
	n := notify.New(notify.Config{
		Store: db, Households: household.New(db, now), Push: webpush.New(key, policy, now), Check: policy.Check,
		Now: now, Log: slog.New(slog.NewTextHandler(os.Stderr, nil)),
	})
	began := time.Now()
	n.Round(ctx)
	figure("plan-s", time.Since(began).Seconds(), "s")

	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	tick, ended := make(chan time.Time), make(chan struct{})
	began = time.Now()
	go func() { defer close(ended); n.Run(ctx, tick) }()
	tick <- time.Now() // is received when Run has looked for changes
	figure("start-survey-s", time.Since(began).Seconds(), "s")
	offset.Store(int64(time.Until(eight)))
	before := cpu()
	fmt.Println(itIsEight)
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin) // ends with the other process, too
		cancel()
	}()
	every := time.NewTicker(time.Second)
	defer every.Stop()
	for ctx.Err() == nil {
		select {
		case tick <- time.Now():
		case <-ctx.Done():
		}
		select {
		case <-every.C:
		case <-ctx.Done():
		}
	}
	<-ended
	figure("server-cpu-s", (cpu() - before).Seconds(), "s")
	figure("memory-peak-mb", resident("VmHWM"), "MB")
	return db.Close()
}

// cpu is the processor time that the process has taken.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// resident is a line of the kernel's account of the process, in megabytes; 0 where
// there is none.
func resident(what string) float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	m := regexp.MustCompile(what + `:\s+(\d+) kB`).FindSubmatch(status)
	if m == nil {
		return 0
	}
	kb, _ := strconv.ParseFloat(string(m[1]), 64) // digits
	return kb / 1024
}
