package webapp

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"leafturn/model/fault"
)

const (
	entryPrefix = "app-"
	buildPrefix = ".build-"

	// keepEntries lets two branches of the source be started in turn without
	// building each time.
	keepEntries = 3
	// A build that is older than this was killed; nobody waits for it.
	deadBuildAge = time.Hour
)

// buildEntry builds into a hidden folder and gives it its name when it is
// complete. Two processes may do so at once; the later one's result wins.
func (b Builder) buildEntry(ctx context.Context, dir, key string) error {
	if err := os.MkdirAll(b.Cache, 0o755); err != nil {
		return cacheFault(b.Cache, err)
	}
	tmp, err := os.MkdirTemp(b.Cache, buildPrefix)
	if err != nil {
		return cacheFault(b.Cache, err)
	}
	defer os.RemoveAll(tmp)
	if err := os.Chmod(tmp, 0o755); err != nil {
		return cacheFault(b.Cache, err)
	}
	if err := b.build(ctx, tmp, key); err != nil {
		return err
	}
	if err := os.RemoveAll(dir); err != nil {
		return cacheFault(b.Cache, err)
	}
	if err := os.Rename(tmp, dir); err != nil && !complete(dir) {
		return cacheFault(b.Cache, err)
	}
	return nil
}

func cacheFault(cache string, err error) error {
	words := fmt.Sprintf("Leafturn cannot keep the built phone app in %s; choose another folder with --cache.", cache)
	return fault.New("app_cache_unwritable", words).Because(err)
}

func complete(dir string) bool {
	core := os.DirFS(dir)
	for _, name := range []string{wasmName, wasmName + ".br", wasmName + ".gz", loaderName} {
		if f, err := core.Open(name); err != nil {
			return false
		} else {
			f.Close()
		}
	}
	return KeyOf(core) != ""
}

// touch marks an entry as used now. If that fails it is pruned sooner, no more.
func touch(dir string) {
	now := time.Now()
	_ = os.Chtimes(dir, now, now)
}

// prune removes the entries that were not used for longest, but never keep, and
// builds that died. It is tidying: what cannot be removed stays.
func prune(cache, keep string) {
	entries, err := os.ReadDir(cache)
	if err != nil {
		return
	}
	type aged struct {
		name string
		used time.Time
	}
	var old []aged
	for _, e := range entries {
		info, err := e.Info()
		switch {
		case err != nil || !e.IsDir() || e.Name() == keep:
		case strings.HasPrefix(e.Name(), buildPrefix) && time.Since(info.ModTime()) > deadBuildAge:
			_ = os.RemoveAll(filepath.Join(cache, e.Name()))
		case strings.HasPrefix(e.Name(), entryPrefix):
			old = append(old, aged{e.Name(), info.ModTime()})
		}
	}
	slices.SortFunc(old, func(a, b aged) int { return b.used.Compare(a.used) })
	for i := keepEntries - 1; i < len(old); i++ {
		_ = os.RemoveAll(filepath.Join(cache, old[i].name))
	}
}
