//go:build !js

// The tests of this package need a browser. This harness builds them for it, serves
// them on a loopback port, starts Chromium on a profile of its own and waits for the
// outcome. It runs where LEAFTURN_BROWSER_TESTS is 1, and then it fails where there
// is no Chromium; CHROMIUM names another program than the one in the path.
package browser_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// longest is how long one run in the browser may take before the harness gives up.
const longest = 3 * time.Minute

// outcome is how the test binary ended.
type outcome struct {
	Code    int    `json:"code"`
	Printed string `json:"printed"`
	failure string // why it did not end by itself
}

// harness serves the test binary and hears from it.
type harness struct {
	*httptest.Server
	chromium string
	ended    chan outcome
	saved    atomic.Int64 // the last number that the writer was told is saved
	progress chan struct{}
	files    string // a folder whose files the pages can fetch
}

func newHarness(t *testing.T) *harness {
	if os.Getenv("LEAFTURN_BROWSER_TESTS") != "1" {
		t.Skip("tests in a browser run where LEAFTURN_BROWSER_TESTS is 1")
	}
	h := &harness{chromium: chromium(t), ended: make(chan outcome, 1), progress: make(chan struct{}, 1), files: t.TempDir()}
	h.Server = httptest.NewServer(h.routes(build(t), wasmExec(t)))
	t.Cleanup(h.Close)
	return h
}

func chromium(t *testing.T) string {
	if path := os.Getenv("CHROMIUM"); path != "" {
		return path
	}
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("Chromium is not installed; on Debian: apt-get install chromium")
	return ""
}

var binary = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "leafturn-browser-test")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "test.wasm")
	cmd := exec.Command("go", "test", "-c", "-o", path, ".")
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := cmd.CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("build tests for the browser: %w\n%s", err, out)
	}
	return path, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if os.Getenv("LEAFTURN_BROWSER_TESTS") == "1" {
		if path, err := binary(); err == nil {
			_ = os.RemoveAll(filepath.Dir(path))
		}
	}
	os.Exit(code)
}

func build(t *testing.T) string {
	path, err := binary()
	require.NoError(t, err)
	return path
}

func wasmExec(t *testing.T) string {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	require.NoError(t, err)
	return filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js")
}

func (h *harness) routes(test, exec string) http.Handler {
	mux := http.NewServeMux()
	file := func(path, name string) {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, name) })
	}
	file("/{$}", "testdata/index.html")
	file("/worker.js", "testdata/worker.js")
	file("/wasm_exec.js", exec)
	file("/test.wasm", test)
	mux.Handle("GET /ten-years/", http.FileServer(http.Dir(h.files)))
	mux.HandleFunc("POST /ended", func(_ http.ResponseWriter, r *http.Request) {
		var o outcome
		if err := json.NewDecoder(r.Body).Decode(&o); err != nil {
			o.failure = "unreadable outcome: " + err.Error()
		}
		h.end(o)
	})
	mux.HandleFunc("POST /failed", func(_ http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		h.end(outcome{failure: string(body)})
	})
	mux.HandleFunc("POST /saved", func(_ http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		if n, err := strconv.ParseInt(string(body), 10, 64); err == nil {
			h.saved.Store(n)
		}
		select {
		case h.progress <- struct{}{}:
		default:
		}
	})
	h.transportRoutes(mux)
	return mux
}

// end reports an outcome; only the first of a run counts.
func (h *harness) end(o outcome) {
	select {
	case h.ended <- o:
	default:
	}
}

// browserRun is a running browser.
type browserRun struct {
	cmd    *exec.Cmd
	exited chan error
	log    *os.File
}

// page is the address that runs tests.
func (h *harness) page(env []string, args ...string) string {
	return h.URL + "/?" + url.Values{"arg": args, "env": env}.Encode()
}

// start opens the page in a new browser that uses the profile.
func (h *harness) start(t *testing.T, profile string, env []string, args ...string) *browserRun {
	// With a debugging port, Chromium stays when its page is loaded.
	return h.launch(t, profile, nil, "--remote-debugging-port=0", h.page(env, args...))
}

func (h *harness) launch(t *testing.T, profile string, files []*os.File, args ...string) *browserRun {
	log, err := os.CreateTemp(t.TempDir(), "chromium")
	require.NoError(t, err)
	cmd := exec.Command(h.chromium, append([]string{
		"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--disable-breakpad", "--user-data-dir=" + profile}, args...)...)
	cmd.Stdout, cmd.Stderr, cmd.ExtraFiles = log, log, files
	// A group of its own, so that all its processes can be killed at one instant.
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	require.NoError(t, cmd.Start())
	b := &browserRun{cmd: cmd, exited: make(chan error, 1), log: log}
	go func() { b.exited <- cmd.Wait() }()
	return b
}

// kill ends all processes of the browser without warning. On a busy machine its helpers
// may take a moment to end, and as long as one of them holds the profile's database, no
// other browser can open it.
func (b *browserRun) kill(t *testing.T) {
	group := b.cmd.Process.Pid
	require.NoError(t, syscall.Kill(-group, syscall.SIGKILL))
	<-b.exited
	_ = b.log.Close() // only ever read by name
	for end := time.Now().Add(longest); alive(group); {
		require.True(t, time.Now().Before(end), "a killed browser does not end")
	}
}

// alive reports whether a process of a group still runs, by what Linux says of each
// process (proc(5)): its name in brackets, its state, its parent and its group.
func alive(group int) bool {
	files, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended meanwhile
		}
		fields := strings.Fields(string(data[strings.LastIndexByte(string(data), ')')+1:]))
		if len(fields) > 2 && fields[2] == strconv.Itoa(group) && fields[0] != "Z" && fields[0] != "X" {
			return true
		}
	}
	return false
}

// run runs tests to their end and gives what they printed.
func (h *harness) run(t *testing.T, profile string, env []string, args ...string) string {
	b := h.start(t, profile, env, args...)
	defer b.kill(t)
	return h.wait(t, b)
}

func (h *harness) wait(t *testing.T, b *browserRun) string {
	t.Helper()
	select {
	case o := <-h.ended:
		require.Empty(t, o.failure, "the browser did not run the tests to their end")
		require.Zero(t, o.Code, o.Printed)
		return o.Printed
	case err := <-b.exited:
		b.exited <- err
		said, _ := os.ReadFile(b.log.Name())
		t.Fatalf("Chromium ended early: %v\n%s", err, said)
	case <-time.After(longest):
		said, _ := os.ReadFile(b.log.Name())
		t.Fatalf("the tests did not end in %v\n%s", longest, said)
	}
	return ""
}

// profile makes a new browser profile. A killed browser's helpers may write to it
// for another moment, so it is removed as far as that goes.
func profile(t *testing.T) string {
	dir, err := os.MkdirTemp("", "leafturn-profile")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

func TestInChromium(t *testing.T) {
	h := newHarness(t)
	printed := h.run(t, profile(t), nil, "-test.v", "-test.run=^(TestVault|TestTwoHandles|TestClosed|TestNewer|TestTransport|TestPrepare)")
	t.Log(printed)
	for _, name := range []string{"TestVault", "TestTwoHandles", "TestClosed", "TestNewer", "TestTransport", "TestTransportStreams",
		"TestPrepareMakesALargePhotoSmallAndUpright", "TestPrepareKeepsTheTime", "TestPrepareLeavesASmallPhoto", "TestPrepareRefusesWhatIsNoPhoto"} {
		require.Contains(t, printed, "--- PASS: "+name, "it must have run")
	}
	require.NotContains(t, printed, "--- SKIP")
}

// TestKillKeepsWhatWasSaved kills the browser while it writes, again and again on
// one profile, and looks each time whether everything is there that it was told is.
func TestKillKeepsWhatWasSaved(t *testing.T) {
	h := newHarness(t)
	dir := profile(t)
	for round := range 5 {
		before := h.saved.Load()
		b := h.start(t, dir, []string{"ROLE=writer"}, "-test.run=^TestWrite$")
		more := before + int64(20+13*round)
		for h.saved.Load() < more {
			select {
			case <-h.progress:
			case o := <-h.ended:
				b.kill(t)
				t.Fatalf("the writer ended: %+v", o)
			case <-time.After(longest):
				b.kill(t)
				t.Fatal("the writer does not get on")
			}
		}
		b.kill(t)
		saved := h.saved.Load()
		printed := h.run(t, dir, []string{"ROLE=reader", fmt.Sprint("SAVED=", saved)}, "-test.v", "-test.run=^TestRead$")
		require.Contains(t, printed, "--- PASS: TestRead")
		t.Logf("round %d: killed after %d were saved\n%s", round, saved, printed)
	}
}

// TestTenYears prints what a household of ten years needs in a browser, from its own
// process's start: see package tenyears for the household. FACTS says how many facts;
// without it there are few, so that the road is tried.
func TestTenYears(t *testing.T) {
	h := newHarness(t)
	facts := os.Getenv("FACTS")
	if facts == "" {
		facts = "3000"
	}
	cmd := exec.Command("go", "run", "../replica/tenyears", "live", h.files, facts)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	dir := profile(t)
	printed := h.run(t, dir, []string{"ROLE=keeper"}, "-test.v", "-test.run=^TestKeepTenYears$")
	require.Contains(t, printed, "--- PASS: TestKeepTenYears")
	for range 3 {
		printed = h.run(t, dir, []string{"ROLE=opener", "FACTS=" + facts}, "-test.v", "-test.run=^TestOpenTenYears$")
		require.Contains(t, printed, "--- PASS: TestOpenTenYears")
		t.Log(printed)
	}
}

// TestMeasure prints figures; it asserts none.
func TestMeasure(t *testing.T) {
	h := newHarness(t)
	printed := h.run(t, profile(t), nil, "-test.run=^$", "-test.bench=.", "-test.benchtime=200x")
	require.Contains(t, printed, "BenchmarkAddPending")
	t.Log(printed)
}
