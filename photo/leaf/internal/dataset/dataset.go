// Package dataset reads photographs of leaves with expert masks, for fitting the
// rules and for reporting how far they are off.
//
// A set is split once and for all by the names of its files: a photograph whose
// name's SHA-256 begins with an even byte belongs to the fit half, the others are
// held out. Whatever was chosen or fitted looked at the fit half only.
package dataset

import (
	"crypto/sha256"
	"fmt"
	"image"
	_ "image/jpeg" // the photographs
	_ "image/png"  // the masks
	"os"
	"path/filepath"
	"slices"
	"strings"

	"leafturn/photo/leaf"
	"leafturn/photo/leaf/internal/raster"
)

// Set is a folder with images and masks.
type Set struct {
	Name, Short string
	Kind        leaf.Kind // WholeLeaf masks show the leaf as well as the damage
}

// The sets there are.
var (
	Coffee  = Set{"coffee-leaf-masks", "coffee", leaf.WholeLeaf}
	Soybean = Set{"soybean-rust-underside", "soybean", leaf.CloseUp}
)

// long is the longer side that masks are brought down to: that of leaf.Map.
const long = 640

// Example is a photograph and what experts say about it.
type Example struct {
	Name         string
	Image        image.Image
	Leaf, Damage raster.Mask // at the working size
}

// Fraction is the damaged share of the leaf according to the experts.
func (e Example) Fraction() float64 { return float64(e.Damage.Area()) / float64(e.Leaf.Area()) }

// InFit reports whether a photograph belongs to the fit half.
func InFit(name string) bool { return sha256.Sum256([]byte(name))[0]%2 == 0 }

// twin is a file that is in the set twice, byte by byte, with two masks that differ. Its
// other name, image37.jpeg, is in the fit half, so it is not held out, and it is in
// neither half.
const twin = "image29.jpeg"

// Load reads one half of a set from the folder of all sets.
func Load(root string, s Set, fit bool) ([]Example, error) {
	files, err := filepath.Glob(filepath.Join(root, s.Name, "images", "*"))
	if err != nil {
		return nil, err
	}
	slices.Sort(files)
	var all []Example
	for _, file := range files {
		if name := filepath.Base(file); InFit(name) != fit || name == twin {
			continue
		}
		e, err := load(file, s)
		if err != nil {
			return nil, fmt.Errorf("load %s: %w", file, err)
		}
		all = append(all, e)
	}
	return all, nil
}

func load(file string, s Set) (Example, error) {
	e := Example{Name: filepath.Base(file)}
	stem := strings.TrimSuffix(e.Name, filepath.Ext(e.Name))
	suffix := ".png"
	if s.Kind == leaf.WholeLeaf {
		suffix = "_mask.png"
	}
	var err error
	if e.Image, err = decode(file); err != nil {
		return e, err
	}
	mask, err := decode(filepath.Join(filepath.Dir(file), "..", "masks", stem+suffix))
	if err != nil {
		return e, err
	}
	e.Leaf, e.Damage = masks(raster.Reduce(mask, long), s.Kind == leaf.WholeLeaf)
	return e, nil
}

// masks reads the colours: with a leaf, black is ground, green healthy and red
// damaged; without, white is damaged.
func masks(p raster.RGB, hasLeaf bool) (leaf, damage raster.Mask) {
	leaf, damage = raster.NewMask(p.W, p.H), raster.NewMask(p.W, p.H)
	for i := range leaf.In {
		red, green := p.Pix[3*i], p.Pix[3*i+1]
		damage.In[i] = red > 127
		leaf.In[i] = !hasLeaf || red/255+green/176 > 0.5
	}
	return leaf, damage
}

func decode(file string) (image.Image, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	return img, err
}
