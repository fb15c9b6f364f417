package main

import (
	"context"
	"fmt"
	"text/tabwriter"
)

// config prints the settings in effect.
func (p *program) config(_ context.Context, _ settings, effects []effective) error {
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SETTING\tVALUE\tFROM")
	for _, e := range effects {
		value := e.value
		if value == "" {
			value = "(none)"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", e.name, value, e.from)
	}
	return w.Flush()
}

// help prints the commands and the settings.
func (p *program) help() {
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "leafturn [COMMAND] [--SETTING VALUE]…\n\nCommands:")
	for _, c := range commands {
		fmt.Fprintf(w, "  %s\t%s\n", c.name, c.help)
	}
	fmt.Fprintln(w, "\nSettings, each also as an environment variable; a flag wins over the variable:")
	for _, t := range table {
		flag := "--" + t.name
		if t.value != "" {
			flag += " " + t.value
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\n", flag, t.env(), t.help)
	}
	_ = w.Flush() // nobody is left to tell
}
