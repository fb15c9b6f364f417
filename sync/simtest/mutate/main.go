// Command mutate proves that the simulation finds faults: it plants one at a time in
// a copy of the module, lives through seeds until one fails, and tells after how
// many. For a few faults it runs another test, which must fail. A fault that is not found,
// or whose place is no longer there, fails the command. With -write it writes what it
// found to MUTATIONS.md.
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
	"strconv"
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
	var survived []string
	bySeeds, byTests := &strings.Builder{}, &strings.Builder{}
	for _, f := range faults {
		c, err := f.hunt(dir, "sync/simtest", "-test.run", "TestSeeds", "-test.timeout", "20m", "-seeds", fmt.Sprint(*seeds))
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if c == nil {
			continue
		}
		if c.seed == 0 {
			survived = append(survived, f.name)
		}
		f.tell(bySeeds, fmt.Sprintf("%d | %s", c.seed, c.law))
	}
	for _, o := range others {
		c, err := o.hunt(dir, o.folder, "-test.run", "^"+o.test+"$")
		if err != nil {
			return fmt.Errorf("%s: %w", o.name, err)
		}
		if c == nil {
			continue
		}
		if !c.failed {
			survived = append(survived, o.name)
		}
		o.tell(byTests, fmt.Sprintf("`%s` of `%s`", o.test, o.folder))
	}
	if len(survived) > 0 {
		return fmt.Errorf("not found, within %d seeds or by their tests: %s", *seeds, strings.Join(survived, "; "))
	}
	if *write {
		return os.WriteFile(filepath.Join("sync", "simtest", "MUTATIONS.md"), []byte(page+bySeeds.String()+pageOfTests+byTests.String()), 0o644)
	}
	return nil
}

// tell writes a line of a table, and prints it.
func (f fault) tell(table *strings.Builder, how string) {
	line := fmt.Sprintf("| `%s` | %s | %s |\n", f.file, f.name, how)
	table.WriteString(line)
	fmt.Print(line)
}

const page = `# Faults that the simulation finds

Each fault was planted in a copy of the module, alone, and seeds were lived through from 1 on until one failed. A test that cannot fail proves nothing;
these are the proof that this one can. Made by ` + "`.ci/mutations -write`" + `; ` + "`.ci/mutations`" + ` plants them again and fails if one is no longer found, or if its place has changed so
that it cannot be planted. The faults themselves are in ` + "`mutate/faults.go`" + `.

| place | fault | failing seed | what the simulation said |
|---|---|---|---|
`

const pageOfTests = `
## Found by other tests

The simulation does not find these: what they need hardly ever comes together in it, or they are no trouble between phones and servers. ` + "`.ci/mutations`" + ` plants them too, and
fails if the test does not.

| place | fault | test that fails |
|---|---|---|
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
type catch struct {
	failed bool
	seed   int // the first that fails
	law    string
}

var failed = regexp.MustCompile(`seed (\d+): (?:(?:move \d+|heal|begin): )?(.*)`)

// hunt plants a fault, runs tests of a folder and takes the fault out again. It gives
// nothing for a fault that was not asked for.
func (f fault) hunt(dir, folder string, args ...string) (c *catch, err error) {
	if !strings.Contains(f.name, *only) {
		return nil, nil
	}
	file := filepath.Join(dir, f.file)
	whole, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	if n := bytes.Count(whole, []byte(f.old)); n != 1 {
		return nil, fmt.Errorf("its place is there %d times", n)
	}
	if err := os.WriteFile(file, bytes.Replace(whole, []byte(f.old), []byte(f.new), 1), 0o644); err != nil {
		return nil, err
	}
	defer func() {
		if undo := os.WriteFile(file, whole, 0o644); err == nil {
			err = undo
		}
	}()
	build := exec.Command("go", "test", "-c", "-o", filepath.Join(dir, "planted.test"), "./"+folder)
	build.Dir = dir
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("it does not compile: %s", out)
	}
	test := exec.Command(filepath.Join(dir, "planted.test"), args...)
	test.Dir = filepath.Join(dir, folder)
	out, err := test.CombinedOutput()
	if err == nil {
		return &catch{}, nil
	}
	if !bytes.Contains(out, []byte("--- FAIL")) {
		return nil, fmt.Errorf("the test ended otherwise: %s", out)
	}
	return firstOf(out), nil
}

// firstOf finds the first seed that failed. Several are lived through at once, and those
// before the first that is told are lived through to their ends, so it is the first of all.
func firstOf(out []byte) *catch {
	c := &catch{failed: true}
	for _, m := range failed.FindAllSubmatch(out, -1) {
		if n, err := strconv.Atoi(string(m[1])); err == nil && (c.seed == 0 || n < c.seed) {
			c.seed, c.law = n, names.ReplaceAllString(string(m[2]), "…")
		}
	}
	return c
}

// names are ids, which mean nothing outside their run.
var names = regexp.MustCompile(`\{?[0-9a-f]{8}-[0-9a-f-]{27}( \d+\})?`)
