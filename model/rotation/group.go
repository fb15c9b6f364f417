package rotation

import (
	"fmt"
	"strings"

	"leafturn/model/fault"
)

// Group is a mode of action: a number, or an ingredient whose way of working is not
// known.
type Group struct {
	Number     uint8
	Ingredient string // only if Number is 0
}

// ErrGroup is returned for a group that cannot be read.
var ErrGroup = fault.New("rotation_group_unknown", "This group of the mode of action cannot be read. Copy it from the label, such as 4A or 5, or leave it empty.")

// ParseGroups reads the group that a label prints, such as "4A", "Group 5" or
// "3A + UN". Nothing, "none" and the like give no group. The ingredient tells
// unknown ways of working apart; without it the code itself does.
func ParseGroups(label, ingredient string) ([]Group, error) {
	var all []Group
	for _, part := range strings.FieldsFunc(label, func(r rune) bool { return strings.ContainsRune("+&,;/", r) }) {
		g, ok, err := parseGroup(part, ingredient)
		if err != nil {
			return nil, err
		}
		if ok {
			all = append(all, g)
		}
	}
	return all, nil
}

func parseGroup(part, ingredient string) (Group, bool, error) {
	s := strings.Join(strings.Fields(strings.ToUpper(part)), "")
	for _, word := range []string{"IRAC", "MOA", "GROUP"} {
		s = strings.TrimPrefix(s, word)
	}
	switch s {
	case "", "-", "NONE", "NONEASSIGNED", "N/A", "NA", "NC":
		return Group{}, false, nil
	}
	if rest, ok := strings.CutPrefix(s, "UN"); ok && len(rest) <= 1 {
		name := strings.Join(strings.Fields(strings.ToLower(ingredient)), " ")
		if name == "" {
			name = strings.ToLower(s)
		}
		return Group{Ingredient: name}, true, nil
	}
	if n := number(s); n > 0 {
		return Group{Number: n}, true, nil
	}
	return Group{}, false, fmt.Errorf("parse group: %w: %.40q", ErrGroup, part)
}

// number reads one or two digits and at most one letter; 0 if it is not that.
func number(s string) uint8 {
	digits := strings.TrimRight(s, "ABCDEFGH")
	if len(s)-len(digits) > 1 || len(digits) == 0 || len(digits) > 2 {
		return 0
	}
	n := uint8(0)
	for _, r := range digits {
		if r < '0' || r > '9' {
			return 0
		}
		n = n*10 + uint8(r-'0')
	}
	return n
}
