package model

// CardColour is the colour of a sticky card. The numbers are on disk and on the
// wire: do not reorder.
type CardColour uint8

// The colours.
const (
	NoCard     CardColour = 0
	YellowCard CardColour = 1
	BlueCard   CardColour = 2
)

// CardReading is what stuck to the card of a place. A person confirmed the count.
type CardReading struct {
	Place     PlaceID
	Colour    CardColour
	Pest      Pest // what was counted, as the person judges it
	Count     int
	Counted   int      // what the picture was measured to hold, -1 if nobody measured
	Photo     PhotoSum // zero if there is none
	Replaced  bool     // a new card hangs there now
	Note      string
	Completes TaskKey
}

// Temperature is the lowest and highest temperature of a place since the last
// reading, or on the day it is about, in tenths of a degree Celsius.
type Temperature struct {
	Place   PlaceID
	Coldest int
	Warmest int
}

// Verdict is what a person says of a measured leaf. The numbers are on disk and on
// the wire: do not reorder.
type Verdict uint8

// The verdicts.
const (
	Unchecked Verdict = 0
	Agreed    Verdict = 1
	Outlined  Verdict = 2 // the person drew the leaf's outline, and it was measured again
	Rejected  Verdict = 3 // the number says nothing
)

// Point is a place in a picture, in ten-thousandths of its width and height.
type Point struct{ X, Y uint16 }

// Measurement is how much of a leaf in a photo is damaged. A later one of the same
// photo replaces an earlier one.
type Measurement struct {
	Plant      PlantID
	Photo      PhotoSum
	Method     int // version of the method of package photo/leaf
	Damaged    int // ten-thousandths of the leaf
	Uncertain  int // half width of the 80 % interval, ten-thousandths of the leaf
	Confidence int // per cent
	Verdict    Verdict
	Outline    []Point // if Outlined
	Completes  TaskKey
}

const (
	maxCount   = 100_000
	maxOutline = 64
	whole      = 10_000
)

// Validate checks the reading.
func (c *CardReading) Validate() error {
	if c.Place.IsZero() || c.Colour < YellowCard || c.Colour > BlueCard || c.Pest > PestBroadMite || c.Count < 0 || c.Count > maxCount ||
		c.Counted < -1 || c.Counted > maxCount || !noteOK(c.Note) {
		return ErrInvalid
	}
	return keysOK(c.Completes)
}

// Validate checks the temperatures.
func (t *Temperature) Validate() error {
	if t.Place.IsZero() || t.Coldest < -500 || t.Warmest > 600 || t.Coldest > t.Warmest {
		return ErrInvalid
	}
	return nil
}

// Validate checks the measurement.
func (m *Measurement) Validate() error {
	if m.Plant.IsZero() || m.Photo == (PhotoSum{}) || m.Method < 1 || m.Method > 1_000_000 || m.Damaged < 0 || m.Damaged > whole ||
		m.Uncertain < 0 || m.Uncertain > whole || m.Confidence < 0 || m.Confidence > 100 || m.Verdict > Rejected || len(m.Outline) > maxOutline ||
		(m.Verdict == Outlined) != (len(m.Outline) >= 3) {
		return ErrInvalid
	}
	for _, p := range m.Outline {
		if p.X > whole || p.Y > whole {
			return ErrInvalid
		}
	}
	return keysOK(m.Completes)
}
