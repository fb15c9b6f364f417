// Command bench measures the sync core: it builds the programs measure and tenyears
// natively and for js/wasm, runs every measurement several times, each in a process of
// its own, and prints the medians, one figure per line. Figures of the WebAssembly build
// end in "-wasm"; it runs under Node.
package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"leafturn/sync/workload"
)

const events = 100_000

// tenYears is how many facts a household of 200 plants has after ten years.
const tenYears = 110_000

// The programs, by the names under which measurements call them.
var programs = map[string]string{"measure": "./sync/workload/measure", "tenyears": "./client-sdk/replica/tenyears"}

// single is how many records are signed one by one: enough for a median.
const single = 2_000

// measurement is one run of the program measure. Those above leave files for those
// below.
type measurement struct {
	program string
	what    string
	events  int
	once    bool // what it measures does not vary
	native  bool // it is not run as WebAssembly
}

var measurements = []measurement{
	{program: "measure", what: "author", events: events},
	{program: "measure", what: "single", events: single},
	{program: "measure", what: "wire", events: events, once: true},
	{program: "measure", what: "merge", events: events},
	{program: "measure", what: "snapshot", events: events},
	{program: "measure", what: "open", events: events},
	{program: "measure", what: "incremental", events: events},
	{program: "measure", what: "verify", events: 1_000},
	{program: "tenyears", what: "live", events: tenYears, once: true, native: true},
	{program: "tenyears", what: "open", events: tenYears},
	{program: "tenyears", what: "check", events: tenYears},
	{program: "tenyears", what: "apply", events: tenYears},
}

func main() {
	runs := flag.Int("runs", 3, "how often each time is measured")
	flag.Parse()
	if err := bench(*runs); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func bench(runs int) error {
	sum, err := workload.Sum(workload.DefaultSeed, events)
	if err != nil {
		return err
	}
	if sum != workload.Published[events] {
		return errors.New("the workload is not the published one, so its figures would compare with nothing")
	}
	dir, err := os.MkdirTemp("", "leafturn-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	native, wasm, err := build(dir)
	if err != nil {
		return err
	}
	for _, p := range []platform{native, wasm} {
		for _, m := range measurements {
			if p.suffix != "" && m.native {
				continue
			}
			if err := p.measure(m, dir, runs); err != nil {
				return err
			}
		}
	}
	return nil
}

// platform is how each program is started, and how its figures are told apart.
type platform struct {
	commands map[string][]string
	suffix   string
}

// build makes the programs for both platforms.
func build(dir string) (native, wasm platform, err error) {
	native, wasm = platform{map[string][]string{}, ""}, platform{map[string][]string{}, "-wasm"}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return native, wasm, fmt.Errorf("ask for GOROOT: %w", err)
	}
	start := filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec_node.js")
	for name, source := range programs {
		program := filepath.Join(dir, name)
		if err := compile(source, program); err != nil {
			return native, wasm, err
		}
		if err := compile(source, program+".wasm", "GOOS=js", "GOARCH=wasm"); err != nil {
			return native, wasm, err
		}
		native.commands[name] = []string{program}
		wasm.commands[name] = []string{"node", "--stack-size=8192", start, program + ".wasm"}
	}
	return native, wasm, nil
}

func compile(source, program string, env ...string) error {
	cmd := exec.Command("go", "build", "-o", program, source)
	cmd.Env, cmd.Stderr = append(os.Environ(), env...), os.Stderr
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("build %s: %w", source, err)
	}
	return nil
}

// measure runs one measurement and prints its figures.
func (p platform) measure(m measurement, dir string, runs int) error {
	if m.once {
		runs = 1
	}
	var names []string
	values, units := map[string][]float64{}, map[string]string{}
	for range runs {
		args := append(slices.Clone(p.commands[m.program]), m.what, dir, strconv.Itoa(m.events))
		cmd := exec.Command(args[0], args[1:]...)
		cmd.Stderr = os.Stderr
		out, err := cmd.Output()
		if err != nil {
			return fmt.Errorf("measure %s%s: %w", m.what, p.suffix, err)
		}
		for s := bufio.NewScanner(bytes.NewReader(out)); s.Scan(); {
			var name, unit string
			var value float64
			if _, err := fmt.Sscan(s.Text(), &name, &value, &unit); err != nil {
				return fmt.Errorf("measure %s%s printed %q: %w", m.what, p.suffix, s.Text(), err)
			}
			if values[name] == nil {
				names = append(names, name)
			}
			values[name], units[name] = append(values[name], value), unit
		}
	}
	for _, name := range names {
		fmt.Printf("%s%s %s %s\n", name, p.suffix, short(median(values[name])), units[name])
	}
	return nil
}

// short writes a value with four digits, or as many as it has before the point.
func short(v float64) string {
	digits := 0
	for size := v; size < 1000 && digits < 3; size *= 10 {
		digits++
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}

func median(xs []float64) float64 {
	slices.Sort(xs)
	if n := len(xs); n%2 == 0 {
		return (xs[n/2-1] + xs[n/2]) / 2
	}
	return xs[len(xs)/2]
}
