package sample

// words are all words of the household. Another language is another value of this
// type; every entry but the note of noNote must be filled in.
type words struct {
	household string
	members   [members]string
	phones    [members]string
	places    [places]string
	plants    [plants]plantWords
	products  [products]productWords
	notes     [notes]string
}

type plantWords struct{ name, species string }

type productWords struct{ name, active, pests, cautions string }

// note is one of the notes that members wrote.
type note int

const (
	noNote note = iota
	firstLook
	noFewer
	fewer
	newLeaf
	tooFar
	spread
	bagged
	twice
	dust
	onlyDust
	apart
	waterKeeper
	waterHelper
	notes
)
