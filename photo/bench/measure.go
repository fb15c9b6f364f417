package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// cost is what one process, or several one after the other, took.
type cost struct {
	cpu    time.Duration
	memory int64 // most bytes at a time
}

// way is one way to do the work. Its results are files in dir, named by their size.
type way struct {
	name string
	run  func(s source, dir string) (cost, error)
}

const reference = "libvips"

// ways are measured in this order, over and over.
func ways(self string) []way {
	ours := func(work string, file func(source) string) func(source, string) (cost, error) {
		return func(s source, dir string) (cost, error) { return spend(self, "-work", work, file(s), dir) }
	}
	all := []way{
		{reference, thumbnails},
		{"from the original", ours("receive", source.original)},
		{"strip only", ours("strip", source.original)},
	}
	for _, size := range phoneSizes {
		all = append(all, way{fmt.Sprintf("from a phone's %d", size), ours("receive", func(s source) string { return s.phone(size) })})
	}
	return all
}

// thumbnails lets the reference make the large copy, and the small one from it.
func thumbnails(s source, dir string) (cost, error) {
	large, small := filepath.Join(dir, "1280.jpg"), filepath.Join(dir, "320.jpg")
	a, err := spend("vipsthumbnail", "-s", "1280", "-o", large+"[Q=80,strip]", s.original())
	if err != nil {
		return cost{}, err
	}
	b, err := spend("vipsthumbnail", "-s", "320", "-o", small+"[Q=80,strip]", large)
	return cost{a.cpu + b.cpu, max(a.memory, b.memory)}, err
}

// spend runs a program and gives what the operating system counted for it. That
// includes the memory of this program at the time, which therefore leaves everything
// large to programs that it starts.
func spend(program string, args ...string) (cost, error) {
	cmd := exec.Command(program, args...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return cost{}, fmt.Errorf("%s: %w: %s", program, err, out)
	}
	state := cmd.ProcessState
	used := state.SysUsage().(*syscall.Rusage)
	return cost{state.UserTime() + state.SystemTime(), used.Maxrss * 1024}, nil
}

// result is the median of one way over all rounds and pictures.
type result struct {
	cpu, memory, psnr, bytes float64
}

// measure runs all ways in turns and prints the figures.
func measure(rounds, images int) error {
	dir, err := os.MkdirTemp("", "leafturn-photo-bench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	self, err := os.Executable()
	if err != nil {
		return err
	}
	all := map[string][]result{}
	for n := range images {
		s := source(filepath.Join(dir, fmt.Sprint(n+1)))
		if err := os.Mkdir(string(s), 0o700); err != nil {
			return err
		}
		if _, err := spend(self, "-work", "draw", string(s)); err != nil {
			return err
		}
		for round := range rounds {
			for _, w := range ways(self) {
				r, err := once(self, w, s, filepath.Join(dir, "out"), round == 0)
				if err != nil {
					return fmt.Errorf("%s: %w", w.name, err)
				}
				all[w.name] = append(all[w.name], r)
			}
		}
	}
	medians := map[string]result{}
	for _, w := range ways(self) {
		m := medianOf(all[w.name])
		medians[w.name] = m
		fmt.Fprintf(os.Stderr, "%-20s %6.0f ms CPU %6.1f MB %6.2f dB %8.0f bytes of 1280 pixels\n",
			w.name, m.cpu*1000, m.memory/1e6, m.psnr, m.bytes)
	}
	report(medians)
	return nil
}

// once measures a way once. Quality and size do not change from round to round.
func once(self string, w way, s source, dir string, look bool) (result, error) {
	if err := os.RemoveAll(dir); err != nil {
		return result{}, err
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		return result{}, err
	}
	c, err := w.run(s, dir)
	r := result{cpu: c.cpu.Seconds(), memory: float64(c.memory)}
	large := filepath.Join(dir, "1280.jpg")
	info, missing := os.Stat(large)
	if err != nil || missing != nil || !look {
		return r, err
	}
	r.bytes = float64(info.Size())
	out, err := exec.Command(self, "-work", "compare", s.original(), large).Output()
	if err == nil {
		r.psnr, err = strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	}
	return r, err
}

// medianOf takes each figure's median over the results that have it.
func medianOf(all []result) result {
	of := func(figure func(result) float64) float64 {
		var v []float64
		for _, r := range all {
			if f := figure(r); f > 0 {
				v = append(v, f)
			}
		}
		if len(v) == 0 {
			return 0
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	return result{
		of(func(r result) float64 { return r.cpu }), of(func(r result) float64 { return r.memory }),
		of(func(r result) float64 { return r.psnr }), of(func(r result) float64 { return r.bytes }),
	}
}

func report(m map[string]result) {
	peer, ours, strip := m[reference], m["from the original"], m["strip only"]
	print := func(name string, value float64, unit string) { fmt.Printf("%s %.3g %s\n", name, value, unit) }
	print("derive-cpu-vs-reference", ours.cpu/peer.cpu, "x")
	print("derive-memory-vs-reference", ours.memory/peer.memory, "x")
	print("derive-bytes-vs-reference", ours.bytes/peer.bytes, "x")
	print("derive-quality-lost-db", peer.psnr-ours.psnr, "dB")
	print("derive-cpu-ms", ours.cpu*1000, "ms")
	print("derive-memory-mb", ours.memory/1e6, "MB")
	for _, size := range phoneSizes {
		phone := m[fmt.Sprintf("from a phone's %d", size)]
		print(fmt.Sprintf("phone-%d-cpu-vs-reference", size), phone.cpu/peer.cpu, "x")
		print(fmt.Sprintf("phone-%d-memory-mb", size), phone.memory/1e6, "MB")
	}
	print("strip-cpu-vs-reference", strip.cpu/peer.cpu, "x")
	print("strip-cpu-ms", strip.cpu*1000, "ms")
}
