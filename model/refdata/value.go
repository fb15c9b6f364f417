package refdata

import "strings"

// Unit is what a value counts.
type Unit uint8

// The units.
const (
	Celsius    Unit = 1
	Days       Unit = 2
	DegreeDays Unit = 3 // Celsius degrees above the stage's lower threshold, times days
	Share      Unit = 4 // 0 to 1
	Chance     Unit = 5 // 0 to 1
	PerFemale  Unit = 6 // eggs or newborn in a whole life
	Variation  Unit = 7 // standard deviation divided by the mean
)

// Basis says how far a value may be trusted.
type Basis uint8

// The bases, best first.
const (
	Published Basis = 1 // read in the sources named
	Derived   Basis = 2 // our arithmetic on figures read in the sources named
	Practice  Basis = 3 // common practice of the trade, no source
	Memory    Basis = 4 // from memory: no page was seen for it
)

// Value is a figure as a band, with where it comes from.
//
// Source is a list of source ids parted by spaces, each of them in Sources. The
// words "memory", "derived" and "practice" may stand before or instead of the
// ids. A band is never independent of its neighbours: a low threshold belongs to
// a high constant. Draw from Profile.Fits, or vary whole durations, instead of
// combining ends of bands.
type Value struct {
	Low, Central, High float64
	Unit               Unit
	Source             string
}

// Known reports whether there is a figure at all.
func (v Value) Known() bool { return v.Source != "" }

// Basis is how the value came about; 0 if there is none.
func (v Value) Basis() Basis { return basis(v.Source) }

func basis(source string) Basis {
	switch {
	case source == "":
		return 0
	case hasWord(source, "memory"):
		return Memory
	case hasWord(source, "practice"):
		return Practice
	case hasWord(source, "derived"):
		return Derived
	default:
		return Published
	}
}

// Sources are the ids of the pages behind the value, none for a value from
// memory alone.
func (v Value) Sources() []string { return sourceIDs(v.Source) }

func sourceIDs(source string) []string {
	var ids []string
	for word := range strings.FieldsSeq(source) {
		if word != "memory" && word != "practice" && word != "derived" {
			ids = append(ids, word)
		}
	}
	return ids
}

func hasWord(text, word string) bool {
	for w := range strings.FieldsSeq(text) {
		if w == word {
			return true
		}
	}
	return false
}

func is(unit Unit, low, central, high float64, source string) Value {
	return Value{low, central, high, unit, source}
}
