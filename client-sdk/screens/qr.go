package screens

import (
	"strconv"
	"strings"

	goqr "github.com/piglig/go-qr"

	"leafturn/client-sdk/screens/h"
)

// quiet is the margin, in modules, that a reader needs around the code
// (ISO/IEC 18004 asks for four).
const quiet = 4

// QRCode draws a link as a QR code. It has no size of its own: the style sheet
// gives it at least 20 mm in print. A link too long for any code draws nothing.
func QRCode(link, title string) h.Node {
	code, err := goqr.EncodeText(link, goqr.Medium)
	if err != nil {
		return nil
	}
	side := strconv.Itoa(code.Size() + 2*quiet)
	return h.Svg(class("qr"), h.Attr("viewBox", "0 0 "+side+" "+side), h.Role("img"), h.Aria("label", title),
		h.Attr("shape-rendering", "crispEdges"),
		h.Rect(class("light"), h.Attr("width", side), h.Attr("height", side)),
		path("dark", modules(code)))
}

// modules is path data of the dark modules, one stroke of the pen per run.
func modules(code *goqr.QrCode) string {
	var b strings.Builder
	for y := range code.Size() {
		for x := 0; x < code.Size(); x++ {
			from := x
			for x < code.Size() && code.Module(x, y) {
				x++
			}
			if x > from {
				b.WriteString("M" + strconv.Itoa(from+quiet) + " " + strconv.Itoa(y+quiet) + "h" + strconv.Itoa(x-from) + "v1h-" + strconv.Itoa(x-from) + "z")
			}
		}
	}
	return b.String()
}

func num(f float64) string { return strconv.FormatFloat(f, 'f', -1, 32) }
