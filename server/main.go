// Command leafturn is the server of a household: it keeps the logs and photos of
// its phones and hands the phone app out.
//
// A setting has a name, an environment variable and a default; a flag wins over
// the variable and the variable over the default. The data directory is where
// everything is kept; the core is the phone app's compiled part, which is built on
// the first start; the set-up link lets one person found a household, once.
//
// What goes wrong before the server runs is told in one sentence, and the program
// ends with exit code 2.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	_ "time/tzdata" // the smallest machines have no zone data

	"leafturn/model/fault"
)

// Exit codes.
const (
	exitDone    = 0
	exitBroken  = 1 // something that should not happen
	exitRefused = 2 // something the person can put right
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	p := &program{getenv: os.Getenv, out: os.Stdout, err: os.Stderr}
	os.Exit(p.run(ctx, os.Args[1:]))
}

// program is one run of the command and what it may touch.
type program struct {
	getenv   func(string) string
	out, err io.Writer
}

// commands are the sub-commands, in the order in which help lists them.
var commands = []struct {
	name, help string
	run        func(*program, context.Context, settings, []effective) error
}{
	{"serve", "run the server; this is what happens without a command", (*program).serve},
	{"verify", "read everything in the data directory and say what is damaged or missing; not while the server runs", (*program).verify},
	{"config", "print the settings in effect and where each comes from", (*program).config},
	{"build-app", "build the phone app into the source tree, to be linked into the program", (*program).buildApp},
}

func (p *program) run(ctx context.Context, args []string) int {
	name, flags := "serve", args
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		name, flags = args[0], args[1:]
	}
	if name == "help" || wantsHelp(flags) {
		p.help()
		return exitDone
	}
	for _, c := range commands {
		if c.name != name {
			continue
		}
		s, effects, err := resolve(flags, p.getenv)
		if err == nil {
			err = c.run(p, ctx, s, effects)
		}
		return p.exit(err)
	}
	words := fmt.Sprintf("Leafturn has no command %q; it has serve, verify, config, build-app and help.", name)
	return p.exit(fault.New("command_unknown", words))
}

// exit tells the person what went wrong, in words if there are any.
func (p *program) exit(err error) int {
	if err == nil || errors.Is(err, context.Canceled) {
		return exitDone
	}
	if f, ok := fault.From(err); ok {
		fmt.Fprintln(p.err, f.Words)
		return exitRefused
	}
	fmt.Fprintf(p.err, "Leafturn stopped because something went wrong that it did not expect: %v.\n", err)
	return exitBroken
}
