package plan

import (
	"strings"

	"leafturn/model"
)

// Naming is what a label's words say about a pest.
type Naming uint8

// The answers.
const (
	NotNamed  Naming = 0 // other pests, or none
	NamesIt   Naming = 1 // the pest itself
	NamesKind Naming = 2 // a group that the pest belongs to
	Excludes  Naming = 3 // the label says that it is not for this pest
	NoWords   Naming = 4 // nothing was entered
)

// words are how labels name pests. They are looked for as whole words, singular or
// plural. Which pests a group stands for is general knowledge (memory).
var words = []struct {
	word  string
	pests []model.Pest
	group bool
}{
	{"thrips", []model.Pest{model.PestThrips}, false},
	{"thunderfly", []model.Pest{model.PestThrips}, false},
	{"spider mite", []model.Pest{model.PestSpiderMite}, false},
	{"red spider", []model.Pest{model.PestSpiderMite}, false},
	{"two-spotted mite", []model.Pest{model.PestSpiderMite}, false},
	{"aphid", []model.Pest{model.PestAphid}, false},
	{"greenfly", []model.Pest{model.PestAphid}, false},
	{"blackfly", []model.Pest{model.PestAphid}, false},
	{"root mealybug", []model.Pest{model.PestRootMealy}, false},
	{"mealybug", []model.Pest{model.PestMealybug}, false},
	{"mealy bug", []model.Pest{model.PestMealybug}, false},
	{"whitefly", []model.Pest{model.PestWhitefly}, false},
	{"scale", []model.Pest{model.PestScale}, false},
	{"fungus gnat", []model.Pest{model.PestFungusGnat}, false},
	{"sciarid", []model.Pest{model.PestFungusGnat}, false},
	{"broad mite", []model.Pest{model.PestBroadMite}, false},
	{"cyclamen mite", []model.Pest{model.PestBroadMite}, false},
	{"tarsonemid", []model.Pest{model.PestBroadMite}, false},
	{"mite", []model.Pest{model.PestSpiderMite, model.PestBroadMite}, true},
	{"sucking insect", sucking, true},
	{"sucking pest", sucking, true},
	{"sap feeder", sucking, true},
	{"sap-feeding insect", sucking, true},
	{"soft-bodied insect", []model.Pest{model.PestThrips, model.PestAphid, model.PestMealybug, model.PestWhitefly}, true},
	{"soil-dwelling larva", []model.Pest{model.PestFungusGnat}, true},
	{"soil larva", []model.Pest{model.PestFungusGnat}, true},
}

var sucking = []model.Pest{model.PestAphid, model.PestMealybug, model.PestWhitefly, model.PestScale}

// NamesPest reads the words of a label about pests. Whatever it does not know names
// nothing: better no product than the wrong one. A part of the text with a "not" in
// it excludes the pests it names.
func NamesPest(text string, pest model.Pest) Naming {
	if strings.TrimSpace(text) == "" {
		return NoWords
	}
	best := NotNamed
	for _, clause := range clauses(text) {
		n := clauseNames(clause, pest)
		if n != NotNamed && denies(clause) {
			return Excludes
		}
		if n != NotNamed && (best == NotNamed || n < best) {
			best = n
		}
	}
	return best
}

func clauses(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(".;,\n()/", r) })
}

// clauseNames takes out what it has read, longest names first, so that a root
// mealybug is not read as a mealybug, nor a broad mite as any mite.
func clauseNames(clause string, pest model.Pest) Naming {
	found := NotNamed
	for _, w := range words {
		rest, ok := cutWord(clause, w.word)
		if !ok {
			continue
		}
		clause = rest
		for _, p := range w.pests {
			switch {
			case p != pest:
			case !w.group:
				found = NamesIt
			case found == NotNamed:
				found = NamesKind
			}
		}
	}
	return found
}

// cutWord removes a word and its plural from a text.
func cutWord(text, word string) (string, bool) {
	found := false
	for _, form := range plurals(word) {
		for at := 0; ; {
			i := strings.Index(text[at:], form)
			if i < 0 {
				break
			}
			i += at
			if letterAt(text, i-1) || letterAt(text, i+len(form)) {
				at = i + 1
				continue
			}
			text, at, found = text[:i]+" "+text[i+len(form):], i, true
		}
	}
	return text, found
}

func plurals(word string) []string {
	forms := []string{word + "s", word}
	switch {
	case strings.HasSuffix(word, "fly"):
		forms = append(forms, strings.TrimSuffix(word, "y")+"ies")
	case strings.HasSuffix(word, "larva"):
		forms = append(forms, word+"e")
	case strings.HasSuffix(word, "thrips"):
		forms = []string{word}
	}
	return forms
}

func letterAt(s string, i int) bool {
	return i >= 0 && i < len(s) && s[i] >= 'a' && s[i] <= 'z'
}

func denies(clause string) bool {
	for _, w := range []string{"not", "except", "no", "without", "does not"} {
		if _, ok := cutWord(clause, w); ok {
			return true
		}
	}
	return false
}

// siteOf reads the words of a label about where the product may be used.
func siteOf(p *model.Product) model.Site {
	said := model.SiteUnsaid
	for _, clause := range clauses(p.Pests + "\n" + p.Cautions) {
		inside := hasAny(clause, "indoor", "indoors", "houseplant", "house plant", "interior", "interiorscape", "ornamental", "pot plant", "potted plant", "conservatory")
		outside := hasAny(clause, "outdoor", "outdoors", "outside")
		switch {
		case inside && denies(clause), outside && hasAny(clause, "only"):
			return model.SiteRuledOut
		case inside:
			said = model.SiteNamed
		}
	}
	return said
}

func hasAny(clause string, list ...string) bool {
	for _, w := range list {
		if _, ok := cutWord(clause, w); ok {
			return true
		}
	}
	return false
}
