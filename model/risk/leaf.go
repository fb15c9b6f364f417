package risk

import "strings"

// kinds are words in the household's own name of a species, with the leaves such
// plants have. General knowledge (memory).
var kinds = []struct {
	word   string
	leaves Leaves
}{
	{"calathea", Thin}, {"goeppertia", Thin}, {"maranta", Thin}, {"stromanthe", Thin}, {"ctenanthe", Thin}, {"fern", Thin},
	{"alocasia", Thin}, {"caladium", Thin}, {"ivy", Thin}, {"hedera", Thin}, {"palm", Thin}, {"dracaena marginata", Thin},
	{"begonia", Thin}, {"fittonia", Thin}, {"herb", Thin}, {"basil", Thin}, {"citrus", Ordinary}, {"impatiens", Thin},
	{"cactus", Thick}, {"succulent", Thick}, {"aloe", Thick}, {"haworthia", Thick}, {"echeveria", Thick}, {"crassula", Thick},
	{"sansevieria", Thick}, {"snake plant", Thick}, {"zamioculcas", Thick}, {"zz plant", Thick}, {"hoya", Thick}, {"ficus elastica", Thick},
	{"rubber plant", Thick}, {"sedum", Thick}, {"jade", Thick},
}

// LeavesOf guesses the leaves from a species' name; Ordinary if it knows no word.
func LeavesOf(species string) Leaves {
	species = strings.ToLower(species)
	for _, k := range kinds {
		if i := strings.Index(species, k.word); i >= 0 && (i == 0 || species[i-1] == ' ') {
			return k.leaves
		}
	}
	return Ordinary
}
