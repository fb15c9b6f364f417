package workload

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// Crowd is the household that lives through the stream: four members with one
// device each, who share the starting state and then write without a network.
type Crowd struct {
	Household model.HouseholdID
	Base      []*oplog.Batch // the starting state, known to all
	Authors   [Devices]*Author

	plants []model.PlantID
	places map[string]model.PlaceID
}

// Author writes the log of one device, as a phone does.
type Author struct {
	Device model.DeviceID
	Member model.MemberID
	State  *merge.State

	key    ed25519.PrivateKey
	open   [][]byte   // written, not yet signed
	sealed oplog.Head // up to where it is signed
}

// day is what lies between the founding and the stream, so that no device's slow
// clock is behind what it has seen.
const day = 86_400_000

// NewCrowd founds the household, lets everybody join and writes the starting state.
func NewCrowd(g *Generator) (*Crowd, error) {
	c := &Crowd{places: map[string]model.PlaceID{}}
	for i := range c.Authors {
		seed := sha256.Sum256([]byte{byte(i), 'd', 'e', 'v'})
		key := ed25519.NewKeyFromSeed(seed[:])
		c.Authors[i] = &Author{key: key, Device: model.DeviceIDOf(public(key))}
	}
	founder := c.Authors[0]
	c.Household = model.HouseholdIDOf(public(founder.key), [16]byte{})
	if err := c.found(founder); err != nil {
		return nil, err
	}
	for i, a := range c.Authors[1:] {
		if err := c.join(a, i+1); err != nil {
			return nil, err
		}
	}
	if err := c.furnish(founder, g.Plants); err != nil {
		return nil, err
	}
	for _, a := range c.Authors[1:] {
		if refused := a.State.Apply(c.Base...); len(refused) > 0 {
			return nil, fmt.Errorf("share starting state: %w", refused[0].Err)
		}
	}
	return c, nil
}

func public(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

// enter writes the first operation of a device, which makes it a member's.
func (c *Crowd) enter(a *Author, stamp hlc.Stamp, body any) error {
	tail := oplog.NewTail(c.Household, a.Device)
	start := tail.Head()
	ops, err := tail.Write(stamp, body)
	if err != nil {
		return err
	}
	b, err := tail.Seal(a.key, start, ops)
	if err != nil {
		return err
	}
	c.Base = append(c.Base, b)
	a.State = merge.New(c.Household)
	if refused := a.State.Apply(c.Base...); len(refused) > 0 {
		return fmt.Errorf("enter household: %w", refused[0].Err)
	}
	a.Member, a.sealed = a.State.Member(a.Device), tail.Head()
	return nil
}

func (c *Crowd) found(a *Author) error {
	return c.enter(a, hlc.Of(start-day, 0), &oplog.Found{Key: public(a.key)})
}

// join lets the founder invite and the device join.
func (c *Crowd) join(a *Author, n int) error {
	seed := sha256.Sum256([]byte{byte(n), 'i', 'n', 'v'})
	invitation := ed25519.NewKeyFromSeed(seed[:])
	founder, at := c.Authors[0], hlc.Of(start-day+int64(n)*1000, 0)
	if err := founder.Write(at, &oplog.Invite{Key: public(invitation), Role: model.Helper, Expires: start}); err != nil {
		return err
	}
	b, err := founder.Seal()
	if err != nil {
		return err
	}
	c.Base = append(c.Base, b)
	via := model.FactID{Device: founder.Device, Seq: b.Last()}
	proof := ed25519.Sign(invitation, oplog.JoinBytes(c.Household, public(a.key)))
	return c.enter(a, at+1, &oplog.Join{Key: public(a.key), Via: via, Proof: proof})
}

// furnish writes the places and plants of the starting state.
func (c *Crowd) furnish(a *Author, plants []Plant) error {
	at := hlc.Of(start-day+3_600_000, 0)
	set := func(kind model.Kind, id uuid.UUID, fields ...oplog.Setting) error {
		at++
		return a.Write(at, &oplog.Set{Record: model.Ref{Kind: kind, ID: id}, Fields: fields})
	}
	for _, name := range Places {
		id := uuid.NewSHA1(uuid.NameSpaceOID, []byte(name))
		c.places[name] = model.PlaceID(id)
		if err := set(model.KindPlace, id, setting(model.PlaceName, model.Text(name))); err != nil {
			return err
		}
	}
	for _, p := range plants {
		id, err := uuid.Parse(p.ID)
		if err != nil {
			return fmt.Errorf("read plant id: %w", err)
		}
		c.plants = append(c.plants, model.PlantID(id))
		if err := set(model.KindPlant, id, setting(model.PlantName, model.Text(p.Name)), setting(model.PlantPlace, model.IDValue(c.places[p.Place])),
			setting(model.PlantSensitive, model.Bool(p.Quarantine))); err != nil {
			return err
		}
	}
	b, err := a.Seal()
	c.Base = append(c.Base, b)
	return err
}

func setting(f model.Field, v model.Value) oplog.Setting {
	return oplog.Setting{Key: model.FieldKey{Field: f}, Value: v}
}

// body is the operation that a record becomes. What an edit replaces is known only
// when it is written.
func (c *Crowd) body(r Record) (any, error) {
	plant := c.plants[r.Plant]
	if r.Edit != nil {
		return c.edit(plant, r.Edit), nil
	}
	return c.event(plant, r.At, r.Event)
}

var partNames = map[string]model.Part{
	"leaf_under": model.Underside, "leaf_upper": model.TopSide, "stem": model.Stem, "node": model.LeafJoint,
	"petiole": model.LeafStalk, "growing_tip": model.NewGrowth, "soil": model.Soil, "flower": model.Flower,
}

func (c *Crowd) event(plant model.PlantID, at int64, e *Event) (*model.Fact, error) {
	f := model.Finding{Part: partNames[e.Part]}
	for i, n := range e.Counts {
		f.Counts[i] = uint16(n)
	}
	look := &model.Inspection{Plant: plant, Findings: []model.Finding{f}, Damage: uint8(e.Damage), Note: e.Note}
	if e.Photo != "" {
		sum, err := hex.DecodeString(e.Photo)
		if err != nil {
			return nil, fmt.Errorf("read photo sum: %w", err)
		}
		look.Photos = []model.PhotoSum{model.PhotoSum(sum)}
	}
	return &model.Fact{At: model.Instant(at), By: c.Authors[e.Observer-1].Member, Body: look}, nil
}

func (c *Crowd) edit(plant model.PlantID, e *Edit) *oplog.Set {
	var s oplog.Setting
	switch e.Field {
	case "name":
		s = setting(model.PlantName, model.Text(e.Text))
	case "place":
		s = setting(model.PlantPlace, model.IDValue(c.places[e.Text]))
	default:
		s = setting(model.PlantSensitive, model.Bool(e.Yes))
	}
	return &oplog.Set{Record: model.Ref{Kind: model.KindPlant, ID: plant.UUID()}, Fields: []oplog.Setting{s}}
}

// Write adds an operation to the author's log and state.
func (a *Author) Write(stamp hlc.Stamp, body any) error {
	d, err := a.State.Draft(a.Device)
	if err != nil {
		return err
	}
	if _, err := d.Write(stamp, body); err != nil {
		return err
	}
	a.open = append(a.open, d.Ops...)
	a.State.Accept(d)
	return nil
}

// Seed is that of the author's key, for a phone that takes the author's place.
func (a *Author) Seed() []byte { return a.key.Seed() }

// Open is the number of operations that are not signed yet.
func (a *Author) Open() int { return len(a.open) }

// Seal signs what is open.
func (a *Author) Seal() (*oplog.Batch, error) {
	tail := a.State.Tail(a.Device)
	b, err := tail.Seal(a.key, a.sealed, a.open)
	if err != nil {
		return nil, err
	}
	a.sealed, a.open = tail.Head(), a.open[:0] // the batch holds copies
	return b, nil
}
