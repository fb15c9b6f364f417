package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// program is a running server.
type program struct {
	cmd     *exec.Cmd
	address string // host and port
	setup   string // the token of its set-up link
	out     chan struct{}
}

// build builds the server and an app of empty files, which it wants to have.
func (t *trial) build(ctx context.Context) error {
	cmd := exec.CommandContext(ctx, "go", "build", "-o", filepath.Join(t.dir, "leafturn"), "leafturn/server")
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w\n%s", err, out)
	}
	for _, name := range []string{"index.html", "app.js", "worker.js", "sw.js", "app.css", "manifest.webmanifest", "dist/app.wasm", "dist/wasm_exec.js"} {
		path := filepath.Join(t.dir, "app", name)
		if err := firstOf(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte("x"), 0o644)); err != nil {
			return err
		}
	}
	return nil
}

var link = regexp.MustCompile(`http://(\S+)/#setup=(\S+)`)

// start starts the server on a data folder and waits until it answers.
func (t *trial) start(ctx context.Context, data string) error {
	// Each phone stands for a home of its own, which the server believes a proxy.
	cmd := exec.CommandContext(ctx, filepath.Join(t.dir, "leafturn"), "--listen", "127.0.0.1:0", "--data", data,
		"--app", filepath.Join(t.dir, "app"), "--trusted-proxies", "127.0.0.1/32", "--log-level", "warn")
	cmd.Stderr = t.words
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	p := &program{cmd: cmd, out: make(chan struct{})}
	t.server = p
	lines := bufio.NewScanner(out)
	for p.address == "" && lines.Scan() {
		if m := link.FindStringSubmatch(lines.Text()); m != nil {
			p.address, p.setup = m[1], m[2]
		}
	}
	go func() {
		defer close(p.out)
		_, _ = io.Copy(io.Discard, out)
	}()
	if p.address == "" {
		return errors.New("the server ended")
	}
	return p.ready(ctx)
}

func (p *program) ready(ctx context.Context) error {
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+p.address+"/healthz", nil)
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(q)
	if err != nil {
		return err
	}
	return res.Body.Close()
}

// stop ends the server as Ctrl-C does.
func (p *program) stop() error {
	if err := p.cmd.Process.Signal(os.Interrupt); err != nil {
		return err
	}
	<-p.out
	return p.cmd.Wait()
}

// kill ends the server without warning; it may have ended already.
func (p *program) kill() {
	_ = p.cmd.Process.Kill()
	<-p.out
	_ = p.cmd.Wait()
}

// memory is what the server holds of the machine's memory, in megabytes. Only Linux
// tells it.
func (p *program) memory() (float64, error) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0, err
	}
	_, rest, _ := strings.Cut(string(status), "VmRSS:")
	kB, err := strconv.ParseFloat(strings.Fields(rest + " x")[0], 64)
	return kB / 1000, err
}

// cpu is how much processor time the server has used, 0 where the system does not
// tell. The fields are those of proc(5), in hundredths of a second.
func (p *program) cpu() time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(stat), ") ")
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.Atoi(fields[11])
	system, _ := strconv.Atoi(fields[12])
	return time.Duration(user+system) * 10 * time.Millisecond
}

func (t *trial) remember(name string) {
	mb, err := t.server.memory()
	if err != nil {
		t.say("%s: not measured: %v", name, err)
		return
	}
	t.figure(name, mb, "MB")
}

// settle lets the server come to rest.
func (t *trial) settle(ctx context.Context) {
	select {
	case <-ctx.Done():
	case <-time.After(t.rest):
	}
}

func (t *trial) idle(ctx context.Context) error {
	if err := t.start(ctx, filepath.Join(t.dir, "empty")); err != nil {
		return err
	}
	t.settle(ctx)
	t.remember("idle-memory-mb")
	return t.server.stop()
}
