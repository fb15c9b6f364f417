package workload

import (
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Years is what a household writes in ten years: 200 plants in 24 places, a round
// through each place every week or so, and what else there is to note. It is invented,
// like the stream, but for another question: how large and how slow does a household
// get that nobody ever tidies up? So its phones are online, as most are, and sign
// every one to three entries by themselves.
type Years struct {
	Facts  int // to be written
	Photos int // among them

	crowd  *Crowd
	random mulberry32
	looks  int // to be written
	rounds []uint32
	next   []int // by place, the plant that is looked at next
	stands [][]int
	shown  model.PhotoSum // the last photo
}

// The mean of a year's entries that was asked for is 11,000, with 2,000 photos; the
// shares below are assumptions of ours.
const (
	tenYears     = 3652 // days
	looksOfFacts = 0.84
	editEvery    = 40 // facts
	sprayed      = "soap spray"
)

// NewYears founds the household. Write writes what it lives through.
func NewYears(seed uint32, facts int) (*Years, error) {
	g := NewGenerator(seed, 0)
	c, err := NewCrowd(g)
	if err != nil {
		return nil, err
	}
	y := &Years{Facts: facts, Photos: facts * 2 / 11, crowd: c, random: mulberry32{seed + 1}, looks: int(looksOfFacts * float64(facts))}
	y.rounds, y.next, y.stands = make([]uint32, len(Places)), make([]int, len(Places)), make([][]int, len(Places))
	for i, p := range g.Plants {
		at := slices.Index(Places, p.Place)
		y.stands[at] = append(y.stands[at], i)
	}
	return y, nil
}

// Crowd are those who live in the household.
func (y *Years) Crowd() *Crowd { return y.crowd }

// Write lets the household live, and hands over every batch when it is signed, the
// starting state first.
func (y *Years) Write(keep func(*oplog.Batch) error) error {
	for _, b := range y.crowd.Base {
		if err := keep(b); err != nil {
			return err
		}
	}
	if err := y.shelf(); err != nil {
		return err
	}
	photos, looks := y.Photos, y.looks
	for n := range y.Facts {
		at := start + int64(n)*tenYears*day/int64(y.Facts)
		author := y.crowd.Authors[y.author()]
		var body model.Body
		if y.random.below(y.Facts-n) < looks {
			look := y.look()
			if y.random.below(looks) < photos {
				y.shown, photos = y.photo(), photos-1
				look.Photos = []model.PhotoSum{y.shown}
			}
			body, looks = look, looks-1
		} else {
			body = y.other(at, author)
		}
		if err := y.write(author, at, &model.Fact{At: model.Instant(at), By: author.Member, Body: body}, keep); err != nil {
			return err
		}
		if n%editEvery == 0 {
			if err := y.edit(at, keep); err != nil {
				return err
			}
		}
	}
	return y.sealAll(keep)
}

// write adds an entry to an author's log. A phone that is online signs soon.
func (y *Years) write(a *Author, at int64, body any, keep func(*oplog.Batch) error) error {
	if err := a.Write(hlc.Of(at, 0), body); err != nil {
		return fmt.Errorf("live: %w", err)
	}
	if a.Open() < 3 && y.random.unit() < 0.5 {
		return nil
	}
	b, err := a.Seal()
	if err != nil {
		return err
	}
	return keep(b)
}

func (y *Years) sealAll(keep func(*oplog.Batch) error) error {
	for _, a := range y.crowd.Authors {
		if a.Open() == 0 {
			continue
		}
		b, err := a.Seal()
		if err != nil {
			return err
		}
		if err := keep(b); err != nil {
			return err
		}
	}
	return nil
}

// author: two people do most of it.
func (y *Years) author() int { return int(math.Pow(y.random.unit(), 1.5) * Devices) }

func nameID(name string) uuid.UUID { return uuid.NewSHA1(uuid.NameSpaceOID, []byte(name)) }

// shelf holds one product.
func (y *Years) shelf() error {
	ref := model.Ref{Kind: model.KindProduct, ID: nameID(sprayed)}
	return y.crowd.Authors[0].Write(hlc.Of(start-1, 0), &oplog.Set{Record: ref, Fields: []oplog.Setting{setting(model.ProductName, model.Text(sprayed))}})
}

// place is one with plants.
func (y *Years) place() int {
	for {
		if at := y.random.below(len(Places)); len(y.stands[at]) > 0 {
			return at
		}
	}
}

// look goes on with the round of a place.
func (y *Years) look() *model.Inspection {
	at := y.place()
	if y.next[at] == len(y.stands[at]) {
		y.next[at], y.rounds[at] = 0, y.rounds[at]+1
	}
	look := &model.Inspection{Plant: y.crowd.plants[y.stands[at][y.next[at]]], Round: y.round(at)}
	y.next[at]++
	if y.random.unit() < 0.3 { // the rest is clean
		f := model.Finding{Part: model.Parts[y.random.below(len(model.Parts))]}
		for i := range f.Counts {
			f.Counts[i] = uint16(y.random.geometric(0.3))
		}
		look.Findings, look.Damage = []model.Finding{f}, uint8(min(5, y.random.geometric(0.4)))
		if y.random.unit() < 0.3 {
			look.Note = y.note()
		}
	}
	return look
}

func (y *Years) round(at int) model.TaskKey {
	return model.TaskKey{Rule: model.RuleRound, Subject: nameID(Places[at]), Ordinal: y.rounds[at] + 1}
}

func (y *Years) photo() model.PhotoSum {
	sum, err := hex.DecodeString(y.random.hex(64))
	if err != nil {
		panic(err) // they are hex digits
	}
	return model.PhotoSum(sum)
}

func (y *Years) note() string {
	var words []string
	for range 3 + y.random.below(5) {
		words = append(words, pick(&y.random, syllables)+pick(&y.random, syllables))
	}
	return strings.Join(words, " ")
}

// other is what is not a look.
func (y *Years) other(at int64, a *Author) model.Body {
	place := y.place()
	plants := []model.PlantID{y.crowd.plants[pick(&y.random, y.stands[place])]}
	spot, kind := model.PlaceID(nameID(Places[place])), y.random.unit()
	switch {
	case kind < 0.30:
		return &model.TaskCompleted{Task: y.round(place)}
	case kind < 0.55:
		cold := 120 + y.random.below(80)
		return &model.Temperature{Place: spot, Coldest: cold, Warmest: cold + 10 + y.random.below(90)}
	case kind < 0.70:
		return &model.Application{Plants: plants, Product: model.ProductID(nameID(sprayed)), AmountMl: 100 + 50*y.random.below(10), Parts: []model.Part{model.Underside}}
	case kind < 0.82:
		return &model.Handling{Kind: model.Watered, Plants: plants}
	case kind < 0.90:
		return &model.CardReading{Place: spot, Colour: model.YellowCard, Pest: model.PestThrips, Count: y.random.geometric(0.8), Counted: -1}
	case kind < 0.95:
		return &model.TaskClaimed{Task: y.round(place), Until: model.Instant(at + day/2)}
	case kind < 0.98 && y.shown != (model.PhotoSum{}):
		return &model.Measurement{Plant: plants[0], Photo: y.shown, Method: 1, Damaged: y.random.below(2000), Uncertain: 90, Confidence: 80, Verdict: model.Agreed}
	}
	return &model.Withdrawn{Fact: model.FactID{Device: a.Device, Seq: a.State.Tail(a.Device).Head().Seq}, Note: "wrong plant"}
}

// edit changes a plant's name or whether it is sensitive, always from the same phone.
func (y *Years) edit(at int64, keep func(*oplog.Batch) error) error {
	n := y.random.below(len(y.crowd.plants))
	a := y.crowd.Authors[n%Devices]
	ref := model.Ref{Kind: model.KindPlant, ID: y.crowd.plants[n].UUID()}
	s := setting(model.PlantSensitive, model.Bool(y.random.unit() < 0.1))
	if y.random.unit() < 0.5 {
		s = setting(model.PlantName, model.Text(y.note()))
	}
	s.Over = a.State.Current(ref, s.Key).By
	return y.write(a, at, &oplog.Set{Record: ref, Fields: []oplog.Setting{s}}, keep)
}
