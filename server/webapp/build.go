package webapp

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"leafturn/model/fault"
)

// How hard to compress the core. The best takes many times as long, so it is for
// a core that is built once and given to many.
const (
	QuickQuality = 9
	BestQuality  = 11
)

// coreFlags leave out what only a debugger needs, and do not have small functions
// copied into the screens and what fills them. Those are much code that runs a little at
// each tap, and the copies made what phones fetch larger by a fortieth.
var coreFlags = []string{"-trimpath", "-ldflags=-s -w",
	"-gcflags=" + modulePath + "/client-sdk/screens/...=-l", "-gcflags=" + modulePath + "/client-sdk/app=-l"}

// Builder builds the core and keeps what it has built.
type Builder struct {
	Source  Source
	Cache   string            // folder for built cores; made if missing
	Quality int               // of brotli, up to BestQuality
	Say     func(line string) // is told what takes long
}

// Core gives the core of the source tree as it is now: from the cache, or newly
// built if it is not there or again is set.
func (b Builder) Core(ctx context.Context, again bool) (fs.FS, error) {
	key, err := b.Source.Key()
	if err != nil {
		return nil, err
	}
	dir := filepath.Join(b.Cache, entryPrefix+key[:32])
	if !again && complete(dir) {
		touch(dir)
		return os.DirFS(dir), nil
	}
	if err := b.buildEntry(ctx, dir, key); err != nil {
		return nil, err
	}
	prune(b.Cache, filepath.Base(dir))
	return os.DirFS(dir), nil
}

// Into builds the core into a folder, to be linked in with the shell. Files of
// other names that are there stay.
func (b Builder) Into(ctx context.Context, dir string) error {
	key, err := b.Source.Key()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	tmp, err := os.MkdirTemp(dir, buildPrefix)
	if err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	defer os.RemoveAll(tmp)
	if err := b.build(ctx, tmp, key); err != nil {
		return err
	}
	return moveAll(tmp, dir)
}

func moveAll(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := os.Rename(filepath.Join(from, e.Name()), filepath.Join(to, e.Name())); err != nil {
			return fmt.Errorf("move built file: %w", err)
		}
	}
	return nil
}

// build makes all files of a core in dir. The key comes last: a core without one
// is not complete.
func (b Builder) build(ctx context.Context, dir, key string) error {
	start := time.Now()
	b.Say("Building the phone app from its source (first start, or the source has changed) …")
	if err := b.compile(ctx, dir); err != nil {
		return cmp.Or(ctx.Err(), err) // a compiler that was stopped did not fail
	}
	b.Say("Packing the phone app …")
	if err := packFile(filepath.Join(dir, wasmName), b.Quality); err != nil {
		return fmt.Errorf("pack app: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, keyName), []byte(key+"\n"), 0o644); err != nil {
		return fmt.Errorf("write key: %w", err)
	}
	b.Say(fmt.Sprintf("Phone app ready after %.0f s.", time.Since(start).Seconds()))
	return nil
}

// compile runs the go command for the core and copies the loader script of the
// very same Go release, because the two only work as a pair.
func (b Builder) compile(ctx context.Context, dir string) error {
	goTool, err := exec.LookPath("go")
	if err != nil {
		return ErrNoGo.Because(err)
	}
	root, err := b.goCommand(ctx, goTool, "env", "GOROOT").Output()
	if err != nil {
		return buildFault(err, "")
	}
	loader, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", loaderName))
	if err != nil {
		return buildFault(err, "")
	}
	if err := os.WriteFile(filepath.Join(dir, loaderName), loader, 0o644); err != nil {
		return buildFault(err, "")
	}
	args := append([]string{"build", "-o", filepath.Join(dir, wasmName)}, coreFlags...)
	out, err := b.goCommand(ctx, goTool, append(args, corePkg)...).CombinedOutput()
	if err != nil {
		return b.reported(err, out)
	}
	return nil
}

func (b Builder) goCommand(ctx context.Context, goTool string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, goTool, args...)
	cmd.Dir = b.Source.root
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	// A group of its own: Ctrl-C in the terminal then reaches only us, and we end
	// the go command together with the compilers that it has started.
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	return cmd
}

// reported keeps the compiler's whole report in a file, because the person gets
// one sentence with its first finding.
func (b Builder) reported(err error, out []byte) error {
	name := filepath.Join(b.Cache, "build.log")
	hint := firstFinding(string(out))
	if os.WriteFile(name, out, 0o644) == nil {
		hint += "; the whole report is in " + name
	}
	return buildFault(err, hint)
}

// firstFinding skips the go command's headings and notes of what it downloads.
func firstFinding(report string) string {
	for line := range strings.Lines(report) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "#") && !strings.HasPrefix(line, "go: downloading") {
			return line
		}
	}
	return "the compiler said nothing"
}

func buildFault(err error, hint string) error {
	if hint == "" {
		hint = err.Error()
	}
	return fault.New(ErrBuild.Code, "The phone app could not be built ("+hint+").").Because(err)
}

// packFile writes the compressed forms of a file beside it, both at once.
func packFile(name string, quality int) error {
	raw, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	var wg sync.WaitGroup
	var errs [2]error
	wg.Go(func() { errs[0] = os.WriteFile(name+".br", brotliOf(raw, quality), 0o644) })
	wg.Go(func() { errs[1] = os.WriteFile(name+".gz", gzipOf(raw), 0o644) })
	wg.Wait()
	return errors.Join(errs[0], errs[1])
}
