package model

import "unicode/utf8"

// Fact is something that was seen or done. Its id names the device and place in
// that device's log; At is when it was seen or done, which may be earlier than
// when it was written down.
type Fact struct {
	ID    FactID
	Stamp uint64 // hybrid logical time of writing, orders facts everywhere alike
	At    Instant
	By    MemberID
	Body  Body
}

// Body is what a fact says: one of the pointer types below.
type Body interface {
	// Validate reports whether the body can be true at all: amounts and counts in
	// range, the ids it needs present. It knows nothing of the household.
	Validate() error
	body()
}

// Part is where on a plant somebody looked. The numbers are on disk and on the
// wire: do not reorder.
type Part uint8

// The parts of a plant.
const (
	Underside Part = 1
	TopSide   Part = 2
	Stem      Part = 3
	NewGrowth Part = 4
	Soil      Part = 5
	Flower    Part = 6
	LeafJoint Part = 7
	LeafStalk Part = 8
)

// Parts lists every part in the order in which people look.
var Parts = []Part{Underside, NewGrowth, TopSide, Stem, LeafJoint, LeafStalk, Flower, Soil}

// PartSet is a set of parts, bit n for part n. The bits are on disk and on the wire.
type PartSet uint16

const allParts = PartSet(1<<(LeafStalk+1) - 1<<Underside)

// PartsOf makes a set.
func PartsOf(parts ...Part) PartSet {
	var s PartSet
	for _, p := range parts {
		s |= 1 << p
	}
	return s
}

// Has reports whether a part is in the set.
func (s PartSet) Has(p Part) bool { return s&(1<<p) != 0 }

// Aid is what helped the eye in a look. The numbers are on disk and on the wire: do
// not reorder.
type Aid uint8

// The aids.
const (
	NakedEye Aid = 0
	Lens     Aid = 1 // about ten-fold
	PaperTap Aid = 2 // leaves tapped over white paper
)

// Signs is a set of signs, one bit each. The bits are on disk and on the wire:
// do not reorder.
type Signs uint32

// The signs that a finding can name.
const (
	PaleSpeckling    Signs = 1 << 0
	SilveryPatches   Signs = 1 << 1
	BlackSpecks      Signs = 1 << 2
	FineWebbing      Signs = 1 << 3
	StickyHoneydew   Signs = 1 << 4
	WhiteFluff       Signs = 1 << 5
	ShellsOrBumps    Signs = 1 << 6
	FliesWhenTouched Signs = 1 << 7
	TwistedNewGrowth Signs = 1 << 8
	Yellowing        Signs = 1 << 9
	MovingInsects    Signs = 1 << 10
	LarvaeInSoil     Signs = 1 << 11

	allSigns = LarvaeInSoil<<1 - 1
)

// Has reports whether every sign of t is in s.
func (s Signs) Has(t Signs) bool { return s&t == t }

// Stage is a stage in the life of a pest, as a person can tell them apart.
type Stage uint8

// The stages, also the indexes into Counts. Do not reorder.
const (
	Eggs    Stage = 0
	Young   Stage = 1 // larvae, nymphs, crawlers
	Resting Stage = 2 // pupae, and the resting stages in the soil
	Adults  Stage = 3
)

// Counts are animals counted, by stage.
type Counts [4]uint16

// Total is the number of animals of all stages.
func (c Counts) Total() int { return int(c[0]) + int(c[1]) + int(c[2]) + int(c[3]) }

// Finding is what was found at one part of a plant.
type Finding struct {
	Part   Part
	Signs  Signs
	Counts Counts
}

// Inspection is a look at one plant. No findings means: looked, found nothing.
type Inspection struct {
	Plant     PlantID
	Findings  []Finding
	Damage    uint8   // 0 none to 5 nearly all leaf, as the person judges it
	Looked    PartSet // parts that were looked at, those of the findings too; empty if nobody said
	Absent    Signs   // signs that were looked for and not seen
	Aid       Aid     // what helped the eye
	Growing   bool    // clean new growth was seen
	Photos    []PhotoSum
	Note      string
	Round     TaskKey // the round it was part of, or zero
	Completes TaskKey // the task it completes, or zero
}

// Found reports whether the look found anything.
func (i *Inspection) Found() bool { return len(i.Findings) > 0 }

// Application is a treatment that was done.
type Application struct {
	Plants    []PlantID
	Product   ProductID
	Outbreak  OutbreakID // zero if it was done without one
	AmountMl  int        // mixed spray used, ml; 0 if not measured
	Parts     []Part     // where it went
	Note      string
	Completes TaskKey
}

// HandlingKind is what was done to a plant apart from treating it. The numbers
// are on disk and on the wire: do not reorder.
type HandlingKind uint8

// The kinds of handling.
const (
	Isolated  HandlingKind = 1 // now apart from other plants
	Released  HandlingKind = 2 // back among them
	Moved     HandlingKind = 3
	Rinsed    HandlingKind = 4
	Pruned    HandlingKind = 5
	Repotted  HandlingKind = 6
	CameIn    HandlingKind = 7 // new in the household
	WentOut   HandlingKind = 8
	ThrownOut HandlingKind = 9
	Wiped     HandlingKind = 10
	Watered   HandlingKind = 11
	BackIn    HandlingKind = 12 // back from a time outdoors
	CutCameIn HandlingKind = 13 // cut flowers or produce were brought to a place: no plant of the household
	Tried     HandlingKind = 14 // one leaf was sprayed, to see whether the plant bears it
)

// Handling is something done to plants that is not a treatment.
type Handling struct {
	Kind      HandlingKind
	Plants    []PlantID // none if CutCameIn
	Place     PlaceID   // where to, when moved or brought in; the place when all of one was watered
	Note      string
	Completes TaskKey
}

// TaskClaimed says "I'll do it", until a moment.
type TaskClaimed struct {
	Task  TaskKey
	Until Instant
}

// PutOffReason says why not today. Do not reorder.
type PutOffReason uint8

// The reasons for putting a task off.
const (
	NoTime     PutOffReason = 1
	TooHot     PutOffReason = 2
	PlantDry   PutOffReason = 3
	PlantWet   PutOffReason = 4
	OutOfStock PutOffReason = 5
	OtherWhy   PutOffReason = 6
)

// TaskPutOff says that a task is not done before a day.
type TaskPutOff struct {
	Task   TaskKey
	Until  Date
	Reason PutOffReason
}

// TaskCompleted says that a task is done which no other fact completes, such as
// a round whose last plants were skipped.
type TaskCompleted struct {
	Task TaskKey
}

// Withdrawn takes back a fact that should not have been written. The withdrawn
// fact stays in the log and can be shown, but counts for nothing.
type Withdrawn struct {
	Fact FactID
	Note string
}

// Settled says that a person has looked at a task that was completed twice and
// that both treatments really happened: both count, and the flag goes.
type Settled struct {
	Task TaskKey
}

func (*Inspection) body()    {}
func (*Application) body()   {}
func (*Handling) body()      {}
func (*PlanAccepted) body()  {}
func (*TaskClaimed) body()   {}
func (*TaskPutOff) body()    {}
func (*TaskCompleted) body() {}
func (*Withdrawn) body()     {}
func (*Settled) body()       {}
func (*CardReading) body()   {}
func (*Temperature) body()   {}
func (*Measurement) body()   {}

// Limits of one fact, to keep a hostile log from growing without bound.
const (
	maxFindings = 16
	maxPhotos   = 16
	maxPlants   = 2000
	maxParts    = 8
)

// Validate checks the look.
func (i *Inspection) Validate() error {
	if i.Plant.IsZero() || len(i.Findings) > maxFindings || len(i.Photos) > maxPhotos || i.Damage > 5 || !noteOK(i.Note) {
		return ErrInvalid
	}
	if i.Looked&^allParts != 0 || i.Absent&^allSigns != 0 || i.Aid > PaperTap {
		return ErrInvalid
	}
	for _, f := range i.Findings {
		if !f.Part.valid() || f.Signs&^allSigns != 0 {
			return ErrInvalid
		}
	}
	return keysOK(i.Round, i.Completes)
}

// Validate checks the treatment.
func (a *Application) Validate() error {
	if a.Product.IsZero() || !plantsOK(a.Plants) || a.AmountMl < 0 || a.AmountMl > 1_000_000 || len(a.Parts) > maxParts || !noteOK(a.Note) {
		return ErrInvalid
	}
	for _, p := range a.Parts {
		if !p.valid() {
			return ErrInvalid
		}
	}
	return keysOK(a.Completes)
}

// Validate checks the handling.
func (h *Handling) Validate() error {
	if h.Kind < Isolated || h.Kind > Tried || !noteOK(h.Note) {
		return ErrInvalid
	}
	if cut := h.Kind == CutCameIn; cut && (len(h.Plants) != 0 || h.Place.IsZero()) || !cut && !plantsOK(h.Plants) {
		return ErrInvalid
	}
	return keysOK(h.Completes)
}

// Validate checks the claim.
func (c *TaskClaimed) Validate() error { return keyNeeded(c.Task, c.Until > 0) }

// Validate checks the delay.
func (p *TaskPutOff) Validate() error {
	return keyNeeded(p.Task, p.Until > 0 && p.Until <= maxDay && p.Reason >= NoTime && p.Reason <= OtherWhy)
}

// Validate checks the completion.
func (c *TaskCompleted) Validate() error { return keyNeeded(c.Task, true) }

// Validate checks the settlement.
func (s *Settled) Validate() error { return keyNeeded(s.Task, true) }

// Validate checks the withdrawal.
func (w *Withdrawn) Validate() error {
	if w.Fact.Device.IsZero() || w.Fact.Seq == 0 || !noteOK(w.Note) {
		return ErrInvalid
	}
	return nil
}

func (p Part) valid() bool { return p >= Underside && p <= LeafStalk }

func noteOK(s string) bool { return len(s) <= longText && utf8.ValidString(s) }

func plantsOK(ids []PlantID) bool {
	if len(ids) == 0 || len(ids) > maxPlants {
		return false
	}
	for _, id := range ids {
		if id.IsZero() {
			return false
		}
	}
	return true
}

func keysOK(keys ...TaskKey) error {
	for _, k := range keys {
		if !k.IsZero() && !k.valid() {
			return ErrInvalid
		}
	}
	return nil
}

func keyNeeded(k TaskKey, rest bool) error {
	if !k.valid() || !rest {
		return ErrInvalid
	}
	return nil
}
