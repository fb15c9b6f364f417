package leaf

// Verdict says whether there is a figure.
type Verdict uint8

// The verdicts. The zero value is no figure.
const (
	CannotTell Verdict = iota
	Measured
)

// Reason says why there is no figure.
type Reason uint8

// The reasons. Words for people are made elsewhere from String.
const (
	OK            Reason = iota
	TooLarge             // more pixels than any camera has
	TooSmall             // too few pixels to judge
	TooDark              // hardly anything is bright
	TooBright            // hardly anything is not white
	Blurred              // no fine detail
	NotPlain             // the ground of a whole leaf is not plain
	NoLeaf               // nothing has a leaf's colours
	SeveralLeaves        // another piece is nearly as large
	LeafCutOff           // the leaf goes on beyond the picture
	BadOutline           // the outline drawn holds next to nothing
)

var reasons = [...]string{"ok", "too_large", "too_small", "too_dark", "too_bright", "blurred", "not_plain",
	"no_leaf", "several_leaves", "leaf_cut_off", "bad_outline"}

// String is the reason as a stable word.
func (r Reason) String() string {
	if int(r) < len(reasons) {
		return reasons[r]
	}
	return "unknown"
}
