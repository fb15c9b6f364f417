package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	go_qr "github.com/piglig/go-qr"
)

// quiet is the empty margin that ISO/IEC 18004 asks for, in modules.
const quiet = 4

// qrText draws a QR code with half blocks, two rows of modules in one line. Light
// modules are drawn and dark ones left out, for terminals are mostly dark; with
// colour, both are fixed and the code is right on any terminal.
func qrText(text string, colour bool) (string, error) {
	code, err := go_qr.EncodeText(text, go_qr.Low)
	if err != nil {
		return "", fmt.Errorf("draw qr code: %w", err)
	}
	n := code.Size()
	light := func(x, y int) bool {
		return x < 0 || y < 0 || x >= n || y >= n || !code.Module(x, y)
	}
	var b strings.Builder
	for y := -quiet; y < n+quiet; y += 2 {
		if colour {
			b.WriteString("\x1b[38;5;231m\x1b[48;5;16m") // white on black, not the theme's
		}
		for x := -quiet; x < n+quiet; x++ {
			// The code has an odd number of rows, so the last line has a half to spare.
			b.WriteString(half(light(x, y), y+1 < n+quiet && light(x, y+1)))
		}
		if colour {
			b.WriteString("\x1b[0m")
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}

func half(upper, lower bool) string {
	switch {
	case upper && lower:
		return "█"
	case upper:
		return "▀"
	case lower:
		return "▄"
	}
	return " "
}

// hasColour reports whether w is a terminal whose owner has not asked for no
// colour.
func hasColour(w io.Writer, getenv func(string) string) bool {
	f, ok := w.(*os.File)
	if !ok || getenv("NO_COLOR") != "" || getenv("TERM") == "dumb" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
