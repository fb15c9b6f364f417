// Command results keeps the figures of one group and writes the page that shows all
// groups.
//
//	results <group> <file of "group/name value unit" lines>
//
// The figures go to testdata/bench/<group>.txt, after a line that says when and on
// what they were measured. The page testdata/bench/RESULTS.md is made of all such
// files, of goals.tsv, which holds what each figure aims at and what general-purpose
// engines were measured to need, and of <group>.md, which says what figures mean.
package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

const dir = "testdata/bench"

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "results:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 2 {
		return fmt.Errorf("usage: results <group> <file>")
	}
	lines, err := os.ReadFile(args[1])
	if err != nil {
		return err
	}
	kept := append([]byte("# "+circumstances(time.Now())+"\n"), lines...)
	if err := os.WriteFile(filepath.Join(dir, args[0]+".txt"), kept, 0o644); err != nil {
		return err
	}
	page, err := page(os.DirFS(dir))
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "RESULTS.md"), page, 0o644)
}

// circumstances says when and on what the figures were measured.
func circumstances(now time.Time) string {
	said := []string{now.UTC().Format("2006-01-02 15:04 UTC")}
	if info, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		said = append(said, after(string(info), "model name\t: "))
	}
	said = append(said, fmt.Sprintf("%d cores", runtime.NumCPU()), runtime.GOOS+"/"+runtime.GOARCH, runtime.Version())
	if out, err := exec.Command("node", "--version").Output(); err == nil {
		said = append(said, "Node "+string(bytes.TrimSpace(out)))
	}
	if load, err := os.ReadFile("/proc/loadavg"); err == nil {
		said = append(said, "load at the end "+strings.Fields(string(load))[0])
	}
	return strings.Join(slices.DeleteFunc(said, func(s string) bool { return s == "" }), ", ")
}

// after is the rest of the line that follows a mark.
func after(text, mark string) string {
	_, rest, _ := strings.Cut(text, mark)
	line, _, _ := strings.Cut(rest, "\n")
	return strings.TrimSpace(line)
}
