package screens

import (
	"strings"

	"leafturn/client-sdk/screens/h"
	"leafturn/model"
)

// A leaf seen from below, on a grid of 64, with its midrib and side veins. Signs
// are drawn on it, so that people compare a drawing with the leaf in the hand.
const (
	leafBody  = "M32 5C45 12 52 25 50 38C48 50 40 57 32 60C24 57 16 50 14 38C12 25 19 12 32 5Z"
	leafVeins = "M32 9V63M32 22L42 16M32 33L47 25M32 44L47 37M32 22L22 16M32 33L17 25M32 44L17 37"
)

// layer is one path of a drawing. The class picks its colour from the style
// sheet: leaf, vein, pale, dark, gloss, fluff, web, warm, line, earth.
type layer struct{ class, d string }

// signLayers hold what each sign adds to the leaf. A drawing whose first layer
// is "bare" stands without the leaf.
var signLayers = map[model.Signs][]layer{
	model.PaleSpeckling: {{"pale", dots(1.3, 25, 20, 29, 17, 37, 18, 40, 22, 36, 25, 27, 26, 22, 29, 30, 29, 38, 30, 43, 29, 25, 34, 21, 38, 28, 39, 36, 37, 42, 38, 45, 42, 24, 44, 30, 47, 37, 45, 40, 49, 34, 52, 28, 53, 35, 12, 29, 11)}},
	model.SilveryPatches: {
		{"pale", "M18 25C20 17 30 16 30 24C30 31 23 36 19 32C17 30 17 28 18 25Z"},
		{"pale", "M34 33C39 27 48 29 47 37C46 45 37 48 34 43C32 40 32 36 34 33Z"},
		{"pale", "M20 42C25 38 31 42 29 48C27 53 21 51 20 47Z"},
		{"web", "M20 29L27 21M22 32L28 25M36 41L44 32M39 44L46 36M22 47L27 43"},
	},
	model.BlackSpecks: {{"dark", dots(1.5, 26, 21, 23, 26, 38, 21, 41, 28, 36, 29, 27, 33, 22, 36, 38, 37, 43, 41, 28, 42, 25, 47, 36, 48, 40, 46, 35, 15)}},
	model.FineWebbing: {
		{"bare stem", "M15 62V4M15 52C20 50 23 48 26 45"},
		{"leaf", "M26 45C24 30 36 14 60 10C62 34 46 48 26 45Z"},
		{"vein", "M26 45L58 12M36 35L37 22M43 28L45 17M36 35L50 34M43 28L56 25"},
		{"web", "M15 8L54 11M15 18L42 15M15 28L33 22M15 38L28 32M15 46L26 40"},
		{"web", "M22 8.6C20 20 20 32 22 42M31 9.4C27 19 25 28 26 36M41 10.2C36 15 32 20 30 26"},
		{"dark", dots(1.5, 24, 21, 19, 33, 34, 14)},
	},
	model.StickyHoneydew: {
		{"gloss", "M24 20C28 26 30 29 30 32A6 6 0 0 1 18 32C18 29 20 26 24 20Z"},
		{"gloss", "M41 29C45 35 47 38 47 41A6 6 0 0 1 35 41C35 38 37 35 41 29Z"},
		{"gloss", "M27 43C29.5 47 31 49 31 51A4 4 0 0 1 23 51C23 49 24.5 47 27 43Z"},
		{"shine", "M21.5 31A2.6 2.6 0 0 0 23.5 34.5M38.5 40A2.6 2.6 0 0 0 40.5 43.5"},
	},
	model.WhiteFluff: {
		{"fluff", "M25 33A4 4 0 0 1 26 26A5 5 0 0 1 35 24A4.5 4.5 0 0 1 40 30A4 4 0 0 1 38 37A5 5 0 0 1 29 38A4 4 0 0 1 25 33Z"},
		{"fluff", "M20 49A3 3 0 0 1 21 44A3.5 3.5 0 0 1 28 44A3 3 0 0 1 29 50A4 4 0 0 1 20 49Z"},
		{"web", "M29 29C31 31 30 33 32 35M35 27C34 30 37 31 36 34M23 46C24 47 24 48 25 49"},
	},
	model.ShellsOrBumps: {
		{"warm", "M26 20A6 4.5 0 1 1 38 20A6 4.5 0 1 1 26 20Z"},
		{"warm", "M27 32A5 4 0 1 1 37 32A5 4 0 1 1 27 32Z"},
		{"warm", "M26 44A6 4.5 0 1 1 38 44A6 4.5 0 1 1 26 44Z"},
		{"warm", "M38 28A4 3.2 0 1 1 46 28A4 3.2 0 1 1 38 28Z"},
		{"warm", "M18 38A4 3.2 0 1 1 26 38A4 3.2 0 1 1 18 38Z"},
		{"line", "M29 19A4 3 0 0 1 35 19M29 31.4A3.4 2.6 0 0 1 35 31.4M29 43A4 3 0 0 1 35 43"},
	},
	model.FliesWhenTouched: {
		{"bare leaf", "M32 34C42 36 50 42 54 52C44 60 22 60 10 52C14 42 22 36 32 34Z"},
		{"vein", "M10 52C24 48 40 48 54 52M32 49V37M22 49.6L19 42M42 49.6L45 42"},
		{"fluff", "M18 20L11 15A4.5 4.5 0 0 1 18 20L25 15A4.5 4.5 0 0 0 18 20Z"},
		{"fluff", "M44 13L36.5 8A5 5 0 0 1 44 13L51.5 8A5 5 0 0 0 44 13Z"},
		{"fluff", "M35 27L30 23.5A3.5 3.5 0 0 1 35 27L40 23.5A3.5 3.5 0 0 0 35 27Z"},
		{"dark", dots(1.7, 18, 20.5, 44, 13.5, 35, 27.4)},
		{"web", "M18 25V31M44 18V25M35 31V34"},
	},
	model.TwistedNewGrowth: {
		{"bare stem", "M32 62C32 50 30 46 32 36"},
		{"leaf", "M32 38C18 40 8 32 12 22C15 14 26 16 24 24C23 28 18 27 19 24C12 30 22 36 32 38Z"},
		{"leaf", "M32 34C44 36 56 28 52 17C48 8 37 11 40 20C41 24 46 23 45 19C52 25 42 32 32 34Z"},
		{"leaf", "M32 40C28 30 27 16 33 8C37 14 31 18 36 24C33 28 38 33 32 40Z"},
		{"vein", "M32 38C22 38 14 32 15 24M32 34C42 33 49 27 48 19M32 40C31 30 30 20 33 12"},
	},
	model.Yellowing: {
		{"yellow", "M32 5C45 12 52 25 50 38C48 50 40 57 32 60C36 50 38 46 34 40C30 34 38 28 36 22C34 16 34 10 32 5Z"},
		{"vein", "M32 9V63M32 22L42 16M32 33L47 25M32 44L47 37"},
	},
	model.MovingInsects: {
		{"web", "M10 52C12 56 15 58 19 59M48 58C52 56 54 54 55 50"},
		{"line", "M25 26L18 22M24 31L16 31M25 36L18 41M39 26L46 22M40 31L48 31M39 36L46 41M29 19C28 15 26 13 24 12M35 19C36 15 38 13 40 12"},
		{"dark", "M32 17C38 17 40 24 40 31C40 39 37 46 32 46C27 46 24 39 24 31C24 24 26 17 32 17Z"},
		{"shine", "M29 23C27.5 27 27.5 33 29 38"},
	},
	model.LarvaeInSoil: {
		{"bare stem", "M32 24V6M32 14C25 14 21 11 20 5M32 17C38 17 42 14 44 8"},
		{"earth", "M10 24H54L48 60H16Z"},
		{"fluff", "M18 36C21 32 25 38 28 34C30 32 31 35 29 37C25 41 22 36 20 39C18 40 17 38 18 36Z"},
		{"fluff", "M35 46C38 42 42 48 45 44C47 42 48 45 46 47C42 51 39 46 37 49C35 50 34 48 35 46Z"},
		{"fluff", "M37 33C40 30 43 34 46 31C48 30 48 33 46 34C43 37 40 33 38 36C36 36 36 34 37 33Z"},
		{"dark", dots(1.2, 29, 34.6, 46, 44.6, 46.4, 31.8)},
	},
}

// signDrawing is the tile's picture of one sign.
func signDrawing(s model.Signs) h.Node {
	layers := signLayers[s]
	nodes := h.Group{}
	if len(layers) > 0 && !strings.HasPrefix(layers[0].class, "bare") {
		nodes = append(nodes, path("leaf", leafBody), path("vein", leafVeins))
	}
	for _, l := range layers {
		nodes = append(nodes, path(strings.TrimPrefix(l.class, "bare "), l.d))
	}
	return drawing("sign", "0 0 64 64", nodes)
}

// leafDrawing stands where a plant has no photo yet.
func leafDrawing() h.Node {
	return drawing("nophoto", "0 0 64 64", path("leaf", leafBody), path("vein", leafVeins))
}

// dots is path data of small discs: a radius, then x and y of each.
func dots(r float64, xy ...float64) string {
	var b strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		b.WriteString("M" + num(xy[i]-r) + " " + num(xy[i+1]) + "a" + num(r) + " " + num(r) + " 0 1 0 " + num(2*r) + " 0")
		b.WriteString("a" + num(r) + " " + num(r) + " 0 1 0 " + num(-2*r) + " 0")
	}
	return b.String()
}
