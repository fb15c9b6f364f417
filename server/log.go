package main

import (
	"fmt"
	"io"
	"log/slog"
	"regexp"
	"strings"
)

const redacted = "[redacted]"

// secretKeys are names of attributes whose values never reach the log, wherever
// in the name they stand.
var secretKeys = []string{"token", "secret", "authorization", "signature", "password", "seed", "challenge", "invitation", "cookie"}

// secretTexts find secrets inside other texts: tokens, the parts of links that
// open a household, authorization headers.
var secretTexts = regexp.MustCompile(
	`eyJ[\w-]+\.[\w-]+\.[\w-]*` + // a JWT
		`|(?i:(setup|join|token)=)[^\s&"']+` +
		`|(?i:(bearer) )[^\s"']+`)

// newLog makes the log, which keeps secrets out whoever writes to it.
func newLog(w io.Writer, level slog.Level) *slog.Logger {
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: level, ReplaceAttr: redact}))
}

func redact(_ []string, a slog.Attr) slog.Attr {
	if isSecret(a.Key) {
		return slog.String(a.Key, redacted)
	}
	switch a.Value.Kind() {
	case slog.KindString:
		return slog.String(a.Key, scrub(a.Value.String()))
	case slog.KindAny:
		if _, ok := a.Value.Any().(*slog.Source); !ok {
			return slog.String(a.Key, scrub(fmt.Sprint(a.Value.Any())))
		}
	}
	return a
}

func isSecret(key string) bool {
	key = strings.ToLower(key)
	for _, s := range secretKeys {
		if strings.Contains(key, s) {
			return true
		}
	}
	return false
}

// scrub keeps the name in front of a secret, so that the log still says what kind
// of thing was there.
func scrub(s string) string {
	return secretTexts.ReplaceAllStringFunc(s, func(m string) string {
		if i := strings.IndexAny(m, "= "); i >= 0 {
			return m[:i+1] + redacted
		}
		return redacted
	})
}
