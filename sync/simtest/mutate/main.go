// Command mutate proves that the simulation finds faults: it plants one at a time in
// a copy of the module, lives through seeds until one fails, and tells after how
// many. A fault that no seed finds, or whose place is no longer there, fails the
// command. With -write it writes what it found to MUTATIONS.md.
//
//	go run ./sync/simtest/mutate
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

var (
	seeds = flag.Int("seeds", 2000, "how many seeds a fault may survive at most")
	only  = flag.String("only", "", "plant only the faults whose name contains this")
	write = flag.Bool("write", false, "write MUTATIONS.md anew")
)

func main() {
	flag.Parse()
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run() error {
	dir, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := copyModule(dir); err != nil {
		return err
	}
	var lines []string
	var survived []string
	for _, f := range faults {
		if !strings.Contains(f.name, *only) {
			continue
		}
		c, err := f.hunt(dir)
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if c.seed == "" {
			survived = append(survived, f.name)
			c.law = "not found"
		}
		lines = append(lines, fmt.Sprintf("| `%s` | %s | %s | %s |", f.file, f.name, c.seed, c.law))
		fmt.Println(lines[len(lines)-1])
	}
	if len(survived) > 0 {
		return fmt.Errorf("not found in %d seeds: %s", *seeds, strings.Join(survived, "; "))
	}
	if *write {
		return os.WriteFile(filepath.Join("sync", "simtest", "MUTATIONS.md"), []byte(page+strings.Join(lines, "\n")+"\n"), 0o644)
	}
	return nil
}

const page = `# Faults that the simulation finds

Each fault was planted in a copy of the module, alone, and seeds were lived through from 1 on until one failed. A test that cannot fail proves nothing;
these are the proof that this one can. Made by ` + "`.ci/mutations -write`" + `; ` + "`.ci/mutations`" + ` plants them again and fails if one is no longer found, or if its place has changed so
that it cannot be planted. The faults themselves are in ` + "`mutate/faults.go`" + `.

| place | fault | failing seed | what the simulation said |
|---|---|---|---|
`

// copyModule copies what git knows of the module, as it stands.
func copyModule(dir string) error {
	out, err := exec.Command("git", "ls-files", "-z", "--cached", "--others", "--exclude-standard").Output()
	if err != nil {
		return fmt.Errorf("list files: %w", err)
	}
	for _, name := range strings.Split(strings.Trim(string(out), "\x00"), "\x00") {
		data, err := os.ReadFile(name)
		if os.IsNotExist(err) {
			continue // deleted and not committed
		}
		if err != nil {
			return err
		}
		to := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// catch is how a fault was found.
type catch struct{ seed, law string }

var failed = regexp.MustCompile(`seed (\d+): (?:(?:move \d+|heal|begin): )?(.*)`)

// hunt plants a fault, lives through seeds and takes the fault out again.
func (f fault) hunt(dir string) (c catch, err error) {
	file := filepath.Join(dir, f.file)
	whole, err := os.ReadFile(file)
	if err != nil {
		return c, err
	}
	if n := bytes.Count(whole, []byte(f.old)); n != 1 {
		return c, fmt.Errorf("its place is there %d times", n)
	}
	if err := os.WriteFile(file, bytes.Replace(whole, []byte(f.old), []byte(f.new), 1), 0o644); err != nil {
		return c, err
	}
	defer func() {
		if undo := os.WriteFile(file, whole, 0o644); err == nil {
			err = undo
		}
	}()
	vet := exec.Command("go", "test", "-c", "-o", "simulation", "./sync/simtest")
	vet.Dir = dir
	if out, err := vet.CombinedOutput(); err != nil {
		return c, fmt.Errorf("it does not compile: %s", out)
	}
	sim := exec.Command("./simulation", "-test.run", "TestSeeds", "-test.timeout", "20m", "-seeds", fmt.Sprint(*seeds))
	sim.Dir = dir
	out, err := sim.CombinedOutput()
	if err == nil {
		return c, nil
	}
	m := failed.FindSubmatch(out)
	if m == nil {
		return c, fmt.Errorf("the simulation ended otherwise: %s", out)
	}
	return catch{string(m[1]), names.ReplaceAllString(string(m[2]), "…")}, nil
}

// names are ids, which mean nothing outside their run.
var names = regexp.MustCompile(`\{?[0-9a-f]{8}-[0-9a-f-]{27}( \d+\})?`)
