package app

import (
	"math"
	"strconv"
	"strings"

	"leafturn/model"
)

// Data is the fields that travel with an action. A field may come more than once.
type Data map[string][]string

// Get is the first value of a field, without white space around it.
func (d Data) Get(name string) string {
	if v := d[name]; len(v) > 0 {
		return strings.TrimSpace(v[0])
	}
	return ""
}

// On reports whether a switch is on.
func (d Data) On(name string) bool { return d.Get(name) == "1" || d.Get(name) == "on" }

// Int is a whole number, 0 if there is none.
func (d Data) Int(name string) int {
	n, err := strconv.Atoi(d.Get(name))
	if err != nil {
		return 0
	}
	return n
}

// Milli is a decimal number in thousandths. It reports false for words that are no
// number; nothing at all is 0.
func (d Data) Milli(name string) (int, bool) {
	// "1,000" is a thousand to some and one to others, so it is asked again.
	if _, after, comma := strings.Cut(d.Get(name), ","); comma && len(after) == 3 {
		return 0, false
	}
	text := strings.Replace(d.Get(name), ",", ".", 1)
	if text == "" {
		return 0, true
	}
	f, err := strconv.ParseFloat(text, 64)
	if err != nil || !(f >= 0 && f <= 1_000_000) { // NaN is neither
		return 0, false
	}
	return int(f*1000 + 0.5), true
}

// Tenths is a temperature in tenths of a degree. It reports false for words that are
// no number, and for what no room can be; nothing at all is 0.
func (d Data) Tenths(name string) (int, bool) {
	text := strings.Replace(strings.Replace(d.Get(name), ",", ".", 1), "\u2212", "-", 1)
	if text == "" {
		return 0, true
	}
	f, err := strconv.ParseFloat(text, 64)
	if err != nil || f < -50 || f > 60 {
		return 0, false
	}
	return int(math.Round(f * 10)), true
}

// id reads a record's id, the zero id if the field holds none.
func id[Of any](d Data, name string) model.ID[Of] {
	v, err := model.ParseID[Of](d.Get(name))
	if err != nil {
		return model.ID[Of]{}
	}
	return v
}

// factText and parseFact are how a fact's id travels to the page and back.
func factText(f model.FactID) string {
	return f.Device.String() + "." + strconv.FormatUint(f.Seq, 10)
}

func parseFact(text string) (model.FactID, bool) {
	device, seq, ok := strings.Cut(text, ".")
	if !ok {
		return model.FactID{}, false
	}
	d, err := model.ParseID[model.Device](device)
	if err != nil {
		return model.FactID{}, false
	}
	n, err := strconv.ParseUint(seq, 10, 64)
	return model.FactID{Device: d, Seq: n}, err == nil
}

// taskText and parseTask are how a task's key travels.
func taskText(k model.TaskKey) string {
	return strconv.Itoa(int(k.Rule)) + "." + model.PlaceID(k.Subject).String() + "." + strconv.Itoa(int(k.Ordinal))
}

func parseTask(text string) (model.TaskKey, bool) {
	parts := strings.Split(text, ".")
	if len(parts) != 3 {
		return model.TaskKey{}, false
	}
	rule, err1 := strconv.Atoi(parts[0])
	subject, err2 := model.ParseID[model.Place](parts[1])
	ordinal, err3 := strconv.ParseUint(parts[2], 10, 32)
	if err1 != nil || err2 != nil || err3 != nil || rule < 1 || rule > 255 {
		return model.TaskKey{}, false
	}
	return model.TaskKey{Rule: model.Rule(rule), Subject: subject.UUID(), Ordinal: uint32(ordinal)}, true
}
