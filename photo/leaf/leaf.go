package leaf

import (
	"image"
	"math"

	"leafturn/photo/leaf/internal/damage"
	"leafturn/photo/leaf/internal/ground"
	"leafturn/photo/leaf/internal/raster"
)

// Version names the method. It changes with anything that changes a figure, and is
// stored beside each figure: figures of different versions make no trend.
const Version uint16 = 1

// long is the longer side of the working picture in pixels.
const long = 640

// Kind is how a leaf was photographed.
type Kind uint8

// The kinds. Auto takes a plain ground for WholeLeaf and a green picture for CloseUp.
const (
	Auto      Kind = iota
	WholeLeaf      // one leaf on a plain light ground, all of it
	CloseUp        // leaf all over the picture
)

// Options are what a person can say about a photograph. The zero value is nothing.
type Options struct {
	Kind Kind
	// Outline is the leaf as a person corrected it: a closed line that replaces the
	// outline found. Three points make the smallest.
	Outline []Point
}

// Point is a place on a picture: shares of its width and height, from the upper
// left corner.
type Point struct{ X, Y float64 }

// Measurement is what is to be read from one photograph.
type Measurement struct {
	Version uint16
	Kind    Kind    // as it was measured
	Verdict Verdict // the rest counts only when it is Measured, save Quality
	Reason  Reason  // why not
	Quality Quality

	Leaf    float64 // share of the picture that is leaf
	Damaged float64 // share of the leaf that is damaged: discoloured yellow to brown
	// Uncertain is the half width of an interval around Damaged that held the
	// experts' figure for eight in ten of the photographs the rules were fitted on.
	Uncertain float64
	// Pale and Silver are shares of the leaf with pale specks and with silvering.
	// They are not part of Damaged, and unproven: see Part.Proven.
	Pale, Silver float64

	Confidence float64 // 0 to 1: see the package comment
	Map        Map     // what was counted as what, to be shown
	Outline    []Point // of the leaf, simplified to at most 64 points
	Corrected  bool    // Outline is a person's
}

// Measure measures one leaf. It never fails: what it cannot tell, it says.
func Measure(img image.Image, o Options) Measurement {
	m := Measurement{Version: Version, Kind: o.Kind, Verdict: CannotTell, Quality: Check(img)}
	if m.Reason = m.Quality.Reason; m.Reason != OK {
		return m
	}
	s := scene{rgb: raster.Reduce(img, long), kind: o.Kind}
	if m.Reason = s.find(o.Outline); m.Reason != OK {
		return m
	}
	m.Kind, m.Corrected = s.kind, o.Outline != nil
	s.measure(&m)
	return m
}

// scene is a picture on its way to a measurement.
type scene struct {
	rgb    raster.RGB
	kind   Kind
	ground ground.Surface
	lab    raster.Lab
	leaf   raster.Mask
}

// find settles the kind and the leaf, or says why it cannot.
func (s *scene) find(outline []Point) Reason {
	s.ground = ground.Fit(s.rgb)
	plain := s.ground.Plain()
	guessed := s.kind == Auto
	if guessed {
		s.kind = CloseUp
		if plain || outline != nil {
			s.kind = WholeLeaf
		}
	}
	if s.kind == WholeLeaf && plain {
		s.ground.Flatten(s.rgb)
	}
	s.lab = raster.ToLab(s.rgb)
	var why Reason
	switch {
	case outline != nil:
		why = s.drawn(outline)
	case s.kind == CloseUp:
		s.leaf = raster.NewMask(s.rgb.W, s.rgb.H).Not()
	case !plain:
		why = NotPlain
	default:
		why = s.onGround()
	}
	if why == OK && !s.looksLikeLeaf() {
		why = NoLeaf
		if guessed && s.kind == CloseUp {
			why = NotPlain // as likely a leaf in front of something as no leaf at all
		}
	}
	return why
}

// drawn takes a person's outline.
func (s *scene) drawn(outline []Point) Reason {
	line := make([]raster.Point, len(outline))
	for i, p := range outline {
		if !(math.Abs(p.X) <= 2 && math.Abs(p.Y) <= 2) { // refuses NaN as well
			return BadOutline
		}
		line[i] = raster.Point{X: p.X * float64(s.rgb.W), Y: p.Y * float64(s.rgb.H)}
	}
	s.leaf = raster.Polygon(s.rgb.W, s.rgb.H, line)
	if s.leaf.Fraction() < leastLeaf {
		return BadOutline
	}
	return OK
}

// onGround finds the leaf on a plain ground.
func (s *scene) onGround() Reason {
	leaf, second := ground.Largest(ground.Leaf(s.lab))
	s.leaf = leaf
	switch {
	case leaf.Fraction() < leastLeaf:
		return NoLeaf
	case second > secondLeaf:
		return SeveralLeaves
	case s.cut() > mostCut:
		return LeafCutOff
	}
	return OK
}

// cut is how much of the leaf meets the rim of the picture, as a share of the
// diameter of a disc of its size. A stalk may leave the picture; half a leaf not.
func (s *scene) cut() float64 {
	rim := 0
	for _, p := range s.leaf.Pieces() {
		rim += p.Rim
	}
	return float64(rim) / (2 * math.Sqrt(float64(s.leaf.Area())/math.Pi))
}

// looksLikeLeaf reports whether enough of it has the colours of leaves.
func (s *scene) looksLikeLeaf() bool {
	green, all := 0, 0
	for i, in := range s.leaf.In {
		if !in {
			continue
		}
		all++
		if a, b := s.lab.A[i], s.lab.B[i]; a < greenA && b > greenB {
			green++
		}
	}
	return float64(green) > leastGreen*float64(all)
}

// measure fills in the figures.
func (s *scene) measure(m *Measurement) {
	rule := rules[s.kind]
	light := damage.LightOf(s.lab)
	discoloured := rule.Discolouration(s.lab, s.leaf)
	find := func(severity float64) raster.Mask { return rule.Find(discoloured, s.leaf, severity) }
	lesions := find(1)
	m.Verdict = Measured
	m.Map = mapOf(s.leaf, lesions, light.Specks(s.leaf), light.Patches(s.leaf))
	m.Leaf = s.leaf.Fraction()
	m.Damaged, m.Pale, m.Silver = m.Map.share(Brown), m.Map.share(Pale), m.Map.share(Silver)
	swing := float64(find(laxer).Area()-find(stricter).Area()) / float64(s.leaf.Area())
	m.Uncertain = uncertain(m.Damaged, swing)
	m.Confidence = s.confidence(m)
	m.Outline = s.outline()
}

// mostPoints are as many as a person can take hold of.
const mostPoints = 64

// outline is the leaf's, simplified, in shares of the picture.
func (s *scene) outline() []Point {
	line := raster.Simplify(s.leaf.Outline(), 1)
	for tolerance := 1.5; len(line) > mostPoints; tolerance *= 1.5 {
		line = raster.Simplify(line, tolerance)
	}
	out := make([]Point, len(line))
	for i, p := range line {
		out[i] = Point{X: p.X / float64(s.rgb.W), Y: p.Y / float64(s.rgb.H)}
	}
	return out
}
