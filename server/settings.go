package main

import (
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net/netip"
	"slices"
	"strings"
	"time"

	"leafturn/model/fault"
)

// settings are the values in effect, ready to use.
type settings struct {
	data, listen, publicURL string
	cache, app, into        string
	setup                   time.Duration
	signIns                 int
	photoSpace              int64 // bytes of one household
	proxies                 []netip.Prefix
	log                     slog.Level
	rebuild                 bool
}

// setting is one line of the table of settings.
type setting struct {
	name     string
	value    string // what kind of value, for help; empty for a switch
	help     string
	standard func(getenv func(string) string) string
	set      func(*settings, string) error // its error ends a sentence: "but it …"
}

// env is the setting's environment variable.
func (s setting) env() string {
	return "LEAFTURN_" + strings.ToUpper(strings.ReplaceAll(s.name, "-", "_"))
}

// effective is a setting's value and where it comes from.
type effective struct {
	name, value, from string
}

const fromDefault = "default"

// resolve finds every setting's value: flag before environment before default.
func resolve(args []string, getenv func(string) string) (settings, []effective, error) {
	given, err := parseFlags(args)
	if err != nil {
		return settings{}, nil, err
	}
	var s settings
	effects := make([]effective, len(table))
	for i, t := range table {
		e := t.effective(given, getenv)
		if err := t.set(&s, e.value); err != nil {
			return settings{}, nil, t.refusal(e, err)
		}
		effects[i] = e
	}
	return s, effects, nil
}

// effective takes an empty variable for one that is not set, because many tools
// that start programs cannot leave a variable out.
func (t setting) effective(given map[string]string, getenv func(string) string) effective {
	if v, ok := given[t.name]; ok {
		return effective{t.name, v, "flag --" + t.name}
	}
	if v := getenv(t.env()); v != "" {
		return effective{t.name, v, "environment " + t.env()}
	}
	return effective{t.name, t.standard(getenv), fromDefault}
}

func (t setting) refusal(e effective, err error) error {
	where := "--" + t.name
	if e.from != fromDefault {
		where = e.from[strings.LastIndexByte(e.from, ' ')+1:]
	}
	return fault.New("setting_invalid", fmt.Sprintf("%s is %q, but it %v.", where, e.value, err))
}

// parseFlags collects the flags' texts by name.
func parseFlags(args []string) (map[string]string, error) {
	given := map[string]string{}
	fs := flag.NewFlagSet("leafturn", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	for _, t := range table {
		keep := func(v string) error { given[t.name] = v; return nil }
		if t.value == "" {
			fs.BoolFunc(t.name, t.help, keep)
		} else {
			fs.Func(t.name, t.help, keep)
		}
	}
	if err := fs.Parse(args); err != nil {
		words := fmt.Sprintf("Leafturn does not understand its command line (%v); run it with help to see what it can be told.", err)
		return nil, fault.New("flag_unknown", words).Because(err)
	}
	if fs.NArg() > 0 {
		words := fmt.Sprintf("Leafturn does not know what to do with %q; settings are written as --name value, and a command comes first.", fs.Arg(0))
		return nil, fault.New("argument_unknown", words)
	}
	return given, nil
}

// wantsHelp reports a plea for help anywhere among the flags.
func wantsHelp(args []string) bool {
	return slices.ContainsFunc(args, func(a string) bool {
		return a == "-h" || a == "-help" || a == "--help"
	})
}
