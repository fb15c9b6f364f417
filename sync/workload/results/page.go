package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
)

// goal is what a figure aims at, and what others were measured to need.
type goal struct {
	aim   float64
	bound bound
	peers string
}

// bound is on which side of its aim a figure should be.
type bound string

const (
	free  bound = "" // there is no aim
	most  bound = "≤"
	least bound = "≥"
)

func (g goal) reached(value float64) bool {
	return g.bound == most && value <= g.aim || g.bound == least && value >= g.aim
}

// figure is one line of a group's file.
type figure struct{ name, value, unit string }

// page makes the results page of the files in a folder.
func page(files fs.FS) ([]byte, error) {
	goals, err := readGoals(files)
	if err != nil {
		return nil, err
	}
	groups, err := fs.Glob(files, "*.txt")
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("# Figures\n\nWritten by `.ci/bench [group]`; do not edit. One line per figure as it was printed, with what it aims at and, where there is one,\n" +
		"what general-purpose engines were measured to need for the same records earlier, on a machine like this.\n")
	for _, file := range groups {
		if err := writeGroup(&out, files, strings.TrimSuffix(file, ".txt"), goals); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

func writeGroup(out *bytes.Buffer, files fs.FS, group string, goals map[string]goal) error {
	data, err := fs.ReadFile(files, group+".txt")
	if err != nil {
		return err
	}
	when, figures, err := readFigures(string(data))
	if err != nil {
		return fmt.Errorf("%s.txt: %w", group, err)
	}
	fmt.Fprintf(out, "\n## %s\n\n%s\n\n| figure | measured | unit | goal | reached | others |\n|---|---|---|---|---|---|\n", group, when)
	for _, f := range figures {
		g := goals[f.name]
		aim, reached := "", ""
		if g.bound != free {
			value, err := strconv.ParseFloat(f.value, 64)
			if err != nil {
				return fmt.Errorf("%s: %w", f.name, err)
			}
			aim, reached = fmt.Sprintf("%s %g", g.bound, g.aim), "no"
			if g.reached(value) {
				reached = "yes"
			}
		}
		fmt.Fprintf(out, "| %s | %s | %s | %s | %s | %s |\n", strings.TrimPrefix(f.name, group+"/"), f.value, f.unit, aim, reached, g.peers)
	}
	notes, err := fs.ReadFile(files, group+".md")
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	out.WriteString("\n")
	out.Write(notes)
	return err
}

// readFigures reads a group's file: when it was measured, and "name value unit" lines.
func readFigures(text string) (when string, figures []figure, err error) {
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if mark, ok := strings.CutPrefix(line, "# "); ok {
			when = mark
			continue
		}
		words := strings.Fields(line)
		if len(words) != 3 {
			return "", nil, fmt.Errorf("%q is not a name, a value and a unit", line)
		}
		figures = append(figures, figure{words[0], words[1], words[2]})
	}
	return when, figures, nil
}

// readGoals reads goals.tsv: name, the most it may be or nothing, what others need. A
// "≥" before the number makes it the least.
func readGoals(files fs.FS) (map[string]goal, error) {
	data, err := fs.ReadFile(files, "goals.tsv")
	if err != nil {
		return nil, err
	}
	out := map[string]goal{}
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		parts := strings.Split(strings.TrimRight(line, "\n"), "\t")
		if len(parts) != 3 {
			return nil, fmt.Errorf("goals.tsv: %q has not three columns", line)
		}
		g := goal{peers: parts[2]}
		if parts[1] != "" {
			number, ok := strings.CutPrefix(parts[1], string(least))
			if g.bound = most; ok {
				g.bound = least
			}
			if g.aim, err = strconv.ParseFloat(number, 64); err != nil {
				return nil, fmt.Errorf("goals.tsv: %w", err)
			}
		}
		out[parts[0]] = g
	}
	return out, nil
}
