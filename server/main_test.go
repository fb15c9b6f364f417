package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// binary is the program under test, built once.
var binary string

func TestMain(m *testing.M) {
	os.Exit(withBinary(m.Run))
}

func withBinary(run func() int) int {
	dir, err := os.MkdirTemp("", "leafturn-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	binary = filepath.Join(dir, "leafturn")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "build the program: %v\n%s", err, out)
		return 1
	}
	return run()
}

// files writes files below a new folder.
func files(t *testing.T, content map[string]string) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range content {
		name = filepath.Join(root, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
		require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
	}
	return root
}

// shell is a phone app without its core.
func shell() map[string]string {
	return map[string]string{
		"index.html": "<title>test app</title>", "app.js": "", "worker.js": "", "sw.js": "'@VERSION@'",
		"app.css": "", "manifest.webmanifest": "{}",
	}
}

// shellWithCore is a phone app that needs no building.
func shellWithCore() map[string]string {
	m := shell()
	m["dist/app.wasm"], m["dist/wasm_exec.js"] = "\x00asm", "go"
	return m
}

// command is the program with arguments, in an environment and folder of its own.
func command(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(binary, args...)
	cmd.Dir = t.TempDir()
	home := t.TempDir()
	cmd.Env = []string{"HOME=" + home, "PATH=" + os.Getenv("PATH"), "GOCACHE=" + goEnv(t, "GOCACHE"), "GOFLAGS="}
	return cmd
}

func goEnv(t *testing.T, name string) string {
	t.Helper()
	out, err := exec.Command("go", "env", name).Output()
	require.NoError(t, err)
	return strings.TrimSpace(string(out))
}

// finish runs a command that ends by itself.
func finish(t *testing.T, cmd *exec.Cmd) (out, errOut string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	return o.String(), e.String(), cmd.ProcessState.ExitCode()
}

// running is a server that has printed its banner.
type running struct {
	t      *testing.T
	cmd    *exec.Cmd
	out    *bufio.Reader
	said   string // on standard output so far
	url    string
	errOut *bytes.Buffer
}

var address = regexp.MustCompile(`Address (http://\S+)/`)

func start(t *testing.T, cmd *exec.Cmd) *running {
	t.Helper()
	pipe, err := cmd.StdoutPipe()
	require.NoError(t, err)
	r := &running{t: t, cmd: cmd, out: bufio.NewReader(pipe), errOut: &bytes.Buffer{}}
	cmd.Stderr = r.errOut
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		if cmd.ProcessState == nil {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		}
	})
	for !strings.Contains(r.said, "Ctrl-C ends it.") {
		line, err := r.out.ReadString('\n')
		r.said += line
		if err != nil {
			_ = cmd.Wait()
			t.Fatalf("the server ended: %s%s", r.said, r.errOut)
		}
	}
	r.url = address.FindStringSubmatch(r.said)[1]
	return r
}

// serve starts a server on a free port with an app that is built already.
func serve(t *testing.T, data string, more ...string) *running {
	t.Helper()
	args := append([]string{"--listen", "127.0.0.1:0", "--data", data, "--app", files(t, shellWithCore())}, more...)
	return start(t, command(t, args...))
}

// interrupt ends the server as Ctrl-C does and gives its exit code.
func (r *running) interrupt() int {
	r.t.Helper()
	require.NoError(r.t, r.cmd.Process.Signal(os.Interrupt))
	_, err := io.Copy(io.Discard, r.out)
	require.NoError(r.t, err)
	_ = r.cmd.Wait()
	return r.cmd.ProcessState.ExitCode()
}

func (r *running) get(path string) (int, string) {
	r.t.Helper()
	res, err := http.Get(r.url + path)
	require.NoError(r.t, err)
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	require.NoError(r.t, err)
	return res.StatusCode, string(b)
}

func TestServes(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := serve(t, data)
	require.Contains(t, r.said, data)
	require.Regexp(t, `/#setup=[\w-]{27}\n`, r.said)
	require.Contains(t, r.said, "█")

	status, body := r.get("/healthz")
	require.Equal(t, 200, status)
	require.JSONEq(t, `{"status":"ok"}`, body)
	status, body = r.get("/")
	require.Equal(t, 200, status)
	require.Contains(t, body, "test app")
	status, _ = r.get("/api/v1/zone/Europe/Lisbon")
	require.Equal(t, 200, status)

	// The client keeps its connections open, as browsers do.
	require.Equal(t, 0, r.interrupt())
	require.NotContains(t, r.errOut.String(), "level=ERROR")
	_, err := http.Get(r.url + "/healthz")
	require.ErrorIs(t, err, syscall.ECONNREFUSED)
}

func TestServerKeyStaysTheSame(t *testing.T) {
	data := t.TempDir()
	require.Equal(t, 0, serve(t, data).interrupt())
	first, err := os.ReadFile(filepath.Join(data, "server.key"))
	require.NoError(t, err)
	require.Equal(t, 0, serve(t, data).interrupt())
	second, err := os.ReadFile(filepath.Join(data, "server.key"))
	require.NoError(t, err)
	require.Equal(t, first, second)
}

func TestTermEndsItToo(t *testing.T) {
	r := serve(t, t.TempDir())
	require.NoError(t, r.cmd.Process.Signal(syscall.SIGTERM))
	_, _ = io.Copy(io.Discard, r.out)
	require.NoError(t, r.cmd.Wait())
}

// A client that has begun a request and never ends it must not keep the server.
func TestHalfARequestDoesNotKeepIt(t *testing.T) {
	r := serve(t, t.TempDir())
	conn, err := net.Dial("tcp", strings.TrimPrefix(r.url, "http://"))
	require.NoError(t, err)
	defer conn.Close()
	_, err = conn.Write([]byte("POST /api/v1/found HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\nhalf"))
	require.NoError(t, err)
	require.Equal(t, 0, r.interrupt())
}

func TestLargeBodyIsRefusedUnread(t *testing.T) {
	r := serve(t, t.TempDir())
	conn, err := net.Dial("tcp", strings.TrimPrefix(r.url, "http://"))
	require.NoError(t, err)
	defer conn.Close()
	_, err = conn.Write([]byte("POST /api/v1/found HTTP/1.1\r\nHost: x\r\nContent-Length: 2097153\r\n\r\n" + strings.Repeat("x", 16<<10)))
	require.NoError(t, err)
	res, err := http.ReadResponse(bufio.NewReader(conn), nil)
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, http.StatusRequestEntityTooLarge, res.StatusCode)
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.Contains(t, string(body), `"code":"body_too_large"`)
}

func TestSecondProcessIsRefused(t *testing.T) {
	data := t.TempDir()
	first := serve(t, data)
	_, errOut, code := finish(t, command(t, "--listen", "127.0.0.1:0", "--data", data))
	require.Equal(t, 2, code)
	require.Contains(t, errOut, fmt.Sprintf("Another Leafturn (process %d) is already using %s", first.cmd.Process.Pid, data))
	status, _ := first.get("/healthz")
	require.Equal(t, 200, status, "the first one goes on")
}

// Whatever the person can put right is told in one sentence.
func TestRefusals(t *testing.T) {
	file := filepath.Join(files(t, map[string]string{"file": ""}), "file")
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer busy.Close()
	taken := busy.Addr().String()
	free := []string{"--listen", "127.0.0.1:0", "--data", t.TempDir()}
	cases := []struct {
		name string
		args []string
		says string
	}{
		{"unknown flag", []string{"--nosuch"}, "-nosuch"},
		{"unknown flag of a command", []string{"config", "--nosuch"}, "-nosuch"},
		{"bad value", []string{"--setup-minutes", "soon"}, `--setup-minutes is "soon"`},
		{"unknown command", []string{"sing"}, `"sing"`},
		{"stray word", []string{"serve", "now"}, `"now"`},
		{"data folder below a file", []string{"--listen", "127.0.0.1:0", "--data", filepath.Join(file, "data")}, "cannot write to its data folder " + file},
		{"busy port", []string{"--listen", taken, "--data", t.TempDir()}, "Another program already listens on " + taken},
		{"foreign address", []string{"--listen", "192.0.2.1:8437", "--data", t.TempDir()}, "does not have the address 192.0.2.1:8437"},
		{"incomplete app", append(free, "--app", t.TempDir(), "--rebuild-app=false"), "start Leafturn inside its source folder"},
		{"nothing to build from", []string{"build-app"}, "start Leafturn inside its source folder"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			out, errOut, code := finish(t, command(t, c.args...))
			require.Equal(t, 2, code, errOut)
			require.Empty(t, out)
			require.Contains(t, errOut, c.says)
			require.Equal(t, 1, strings.Count(errOut, "\n"), errOut)
			require.True(t, strings.HasSuffix(errOut, ".\n"), errOut)
		})
	}
}

func TestConfig(t *testing.T) {
	cmd := command(t, "config", "--data", "/srv/leaf")
	cmd.Env = append(cmd.Env, "LEAFTURN_LISTEN=127.0.0.1:9")
	out, _, code := finish(t, cmd)
	require.Equal(t, 0, code)
	require.Regexp(t, `(?m)^data +/srv/leaf +flag --data$`, out)
	require.Regexp(t, `(?m)^listen +127\.0\.0\.1:9 +environment LEAFTURN_LISTEN$`, out)
	require.Regexp(t, `(?m)^setup-minutes +60 +default$`, out)
	require.Regexp(t, `(?m)^public-url +\(none\) +default$`, out)
}

func TestHelp(t *testing.T) {
	for _, args := range [][]string{{"help"}, {"--help"}, {"serve", "-h"}} {
		out, errOut, code := finish(t, command(t, args...))
		require.Equal(t, 0, code)
		require.Empty(t, errOut)
		require.Contains(t, out, "build-app")
		require.Contains(t, out, "LEAFTURN_DATA")
	}
}

// source is a source tree with a core that does nothing.
func source(t *testing.T) string {
	t.Helper()
	return files(t, map[string]string{
		"go.mod": "module leafturn\n\ngo 1.26\n", "go.sum": "",
		"client-sdk/phone/main.go": "package main\n\nfunc main() {}\n",
	})
}

func TestSecondStartBuildsNothing(t *testing.T) {
	tree, app, cache := source(t), files(t, shell()), t.TempDir()
	once := func() *running {
		cmd := command(t, "--listen", "127.0.0.1:0", "--data", t.TempDir(), "--app", app, "--cache", cache)
		cmd.Dir = tree
		return start(t, cmd)
	}
	first := once()
	require.Contains(t, first.said, "Building the phone app")
	status, wasm := first.get("/app.wasm")
	require.Equal(t, 200, status)
	require.True(t, strings.HasPrefix(wasm, "\x00asm"))
	require.Equal(t, 0, first.interrupt())

	second := once()
	require.NotContains(t, second.said, "Building")
	_, again := second.get("/app.wasm")
	require.Equal(t, wasm, again)
}

// The stand-in for the go command starts a process of its own, as the real one
// starts compilers, and both would go on for a minute.
func TestInterruptDuringTheBuild(t *testing.T) {
	bin := t.TempDir()
	script := "#!/bin/sh\n[ $1 = env ] && exec echo " + goEnv(t, "GOROOT") + "\necho started >&2; sleep 60 & wait\n"
	require.NoError(t, os.WriteFile(filepath.Join(bin, "go"), []byte(script), 0o755))
	cmd := command(t, "--listen", "127.0.0.1:0", "--data", t.TempDir(), "--app", files(t, shell()))
	cmd.Dir = source(t)
	cmd.Env = append(cmd.Env, "PATH="+bin+":"+os.Getenv("PATH"))
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Contains(t, line, "Building the phone app")
	require.NoError(t, cmd.Process.Signal(os.Interrupt))
	_, _ = io.Copy(io.Discard, out)
	require.NoError(t, cmd.Wait(), errOut.String())
	require.Empty(t, errOut.String())
}

func TestBrokenSourceIsToldInOneSentence(t *testing.T) {
	tree := source(t)
	require.NoError(t, os.WriteFile(filepath.Join(tree, "client-sdk/phone/main.go"), []byte("package main\nfunc main() { nosuch() }\n"), 0o644))
	cmd := command(t, "--listen", "127.0.0.1:0", "--data", t.TempDir(), "--app", files(t, shell()))
	cmd.Dir = tree
	_, errOut, code := finish(t, cmd)
	require.Equal(t, 2, code)
	require.Contains(t, errOut, "undefined: nosuch")
	require.Equal(t, 1, strings.Count(errOut, "\n"), errOut)
}

func TestBuildApp(t *testing.T) {
	tree := source(t)
	cmd := command(t, "build-app", "--into", filepath.Join(tree, "out"))
	cmd.Dir = tree
	out, errOut, code := finish(t, cmd)
	require.Equal(t, 0, code, errOut)
	require.Contains(t, out, "The phone app is in "+filepath.Join(tree, "out"))
	for _, name := range []string{"app.wasm", "app.wasm.br", "app.wasm.gz", "wasm_exec.js", "key"} {
		require.FileExists(t, filepath.Join(tree, "out", name))
	}
}
