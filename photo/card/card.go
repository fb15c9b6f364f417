package card

import (
	"image"
	"math"
)

// Method names the way of counting. It is stored with each reading, because
// counts of two ways must not be put into one trend.
const Method = "card-1"

// Point is a place on a picture. Both coordinates are in units of the picture's
// longer side, so that a place found on one copy of a photo holds on every other.
type Point struct{ X, Y float64 }

// Corners are the corners of a card on a picture, clockwise, beginning with the
// one nearest the picture's upper left.
type Corners [4]Point

// Speck is something on the card that was counted.
type Speck struct {
	At     Point
	Radius float64 // of the ring to draw, in units of the picture's longer side
	Count  int     // 1; more in a clump whose members cannot be told apart
	Faint  bool    // hardly stands out, or is hardly larger than a grain
}

// Reason says why a card cannot be read.
type Reason string

// The reasons. Their words are stored with readings.
const (
	Readable Reason = ""
	NoCard   Reason = "no_card"   // nothing yellow or blue with four straight sides
	Cut      Reason = "cut"       // the card reaches the rim of the picture
	TooSmall Reason = "too_small" // too few pixels for specks
	TooDark  Reason = "too_dark"
	Glare    Reason = "glare" // too much of the card is hidden by reflected light
	Blurred  Reason = "blurred"
	Crowded  Reason = "crowded" // so much is on it that single specks have no meaning
)

// Reading is what was seen on a card. When it cannot be told, Count and Specks
// are empty, which never means that the card is.
type Reading struct {
	Method     string
	CannotTell Reason
	Corners    Corners
	Specks     []Speck
	Count      int
	// Low and High bound what the picture leaves open: faint specks may be none,
	// and clumps hold more or less. They know nothing of what the method gets
	// wrong on real cards.
	Low, High int
	Hidden    float64 // share of the card hidden by reflected light
}

// Confidence is 1 for a count that leaves nothing open, and less the wider its
// bounds are. It is 0 where the card cannot be read.
func (r Reading) Confidence() float64 {
	if r.CannotTell != Readable {
		return 0
	}
	return 1 - math.Min(1, float64(r.High-r.Low)/float64(2*max(r.Count, 5)))
}

// Read finds the card on an upright picture and counts what is on it.
func Read(img image.Image) Reading {
	p := pictureOf(img)
	c, why := find(p)
	if why != Readable {
		return Reading{Method: Method, CannotTell: why}
	}
	return p.read(c)
}

// ReadAt counts on a card whose corners a person has set.
func ReadAt(img image.Image, c Corners) Reading {
	p := pictureOf(img)
	q := quadOf(c, p.long())
	if !q.sound() {
		return Reading{Method: Method, CannotTell: NoCard, Corners: c}
	}
	return p.read(q)
}

// Find gives the corners of the card, so that a person can look at them, or the
// reason why there are none.
func Find(img image.Image) (Corners, Reason) {
	p := pictureOf(img)
	q, why := find(p)
	if why != Readable {
		return Corners{}, why
	}
	return q.corners(p.long()), Readable
}
