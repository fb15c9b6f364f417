package simtest

import (
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"hash"
	"math/rand/v2"

	"leafturn/model"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Options say how large a world is.
type Options struct {
	Phones int
	Steps  int
	// LyingDisk plants a fault: disks do not sync. The checks must find it.
	LyingDisk bool
}

// World is a household's devices and the network between them.
type World struct {
	opt    Options
	random *rand.Rand
	now    int64 // the right time, Unix milliseconds
	server *device
	phones []*device
	air    []packet
	trace  hash.Hash // of everything that was delivered

	saved    []model.FactID        // what somebody was told is saved
	written  map[model.FactID]bool // what somebody tried to write
	promised oplog.Vector          // what the server said it has
}

// packet is a message under way.
type packet struct {
	from, to *device
	data     []byte
}

// Run lives through one seed and says what went wrong. The trace tells runs apart:
// the same seed gives the same trace.
func Run(seed uint64, opt Options) (trace [sha256.Size]byte, err error) {
	w := &World{opt: opt, random: rand.New(rand.NewPCG(seed, 0x1eaf)), now: 1_790_000_000_000, trace: sha256.New(),
		written: map[model.FactID]bool{}, promised: oplog.Vector{}}
	err = w.live()
	return [sha256.Size]byte(w.trace.Sum(nil)), err
}

func (w *World) live() error {
	if err := w.begin(); err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	for i := range w.opt.Steps {
		if err := w.step(); err != nil {
			return fmt.Errorf("step %d: %w", i, err)
		}
	}
	if err := w.heal(); err != nil {
		return fmt.Errorf("heal: %w", err)
	}
	return w.check()
}

// begin founds the household and lets everybody join, in good weather.
func (w *World) begin() error {
	founder := w.key()
	public := founder.Public().(ed25519.PublicKey)
	h := model.HouseholdIDOf(public, [16]byte{})
	w.server = w.device("server", h, nil)
	if err := w.server.boot(w.wall); err != nil {
		return err
	}
	first := w.device("phone 0", h, founder)
	w.phones = []*device{first}
	if err := w.enter(first, &oplog.Found{Key: public}); err != nil {
		return err
	}
	for i := 1; i < w.opt.Phones; i++ {
		if err := w.join(i); err != nil {
			return err
		}
	}
	for _, d := range w.devices() {
		d.disk.lying = w.opt.LyingDisk
	}
	return nil
}

func (w *World) join(i int) error {
	first, invitation, key := w.phones[0], w.key(), w.key()
	if _, err := first.write(&oplog.Invite{Key: invitation.Public().(ed25519.PublicKey), Role: model.Helper, Expires: model.Instant(w.now + 1)}); err != nil {
		return err
	}
	if err := first.seal(); err != nil {
		return err
	}
	d := w.device(fmt.Sprintf("phone %d", i), first.household, key)
	w.phones = append(w.phones, d)
	known, err := first.disk.Read(ctx, first.id(), 0, oplog.MaxBatchBytes)
	if err != nil {
		return err
	}
	if err := d.disk.Append(ctx, known); err != nil {
		return err
	}
	public := key.Public().(ed25519.PublicKey)
	proof := ed25519.Sign(invitation, oplog.JoinBytes(d.household, public))
	return w.enter(d, &oplog.Join{Key: public, Via: invitation.Public().(ed25519.PublicKey), Proof: proof})
}

// enter writes the first operation of a phone's log and starts the phone.
func (w *World) enter(d *device, body any) error {
	tail := oplog.NewTail(d.household, d.id())
	start := tail.Head()
	ops, err := tail.Write(1, body)
	if err != nil {
		return err
	}
	b, err := tail.Seal(d.key, start, ops)
	if err != nil {
		return err
	}
	if err := d.disk.Append(ctx, []*oplog.Batch{b}); err != nil {
		return err
	}
	return d.boot(w.wall)
}

func (w *World) device(name string, h model.HouseholdID, key ed25519.PrivateKey) *device {
	return &device{name: name, household: h, key: key, disk: newDisk(h), skew: w.between(-172_800_000, 172_800_000)}
}

func (w *World) devices() []*device { return append([]*device{w.server}, w.phones...) }

func (w *World) key() ed25519.PrivateKey {
	var seed [ed25519.SeedSize]byte
	for i := range seed {
		seed[i] = byte(w.random.Uint32())
	}
	return ed25519.NewKeyFromSeed(seed[:])
}

func (w *World) wall() int64 { return w.now }

func (w *World) between(low, high int64) int64 { return low + w.random.Int64N(high-low+1) }

// alive runs what a device does, until it is done or the device crashes; then the
// device starts again.
func (w *World) alive(d *device, do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(crash); !ok {
				panic(r)
			}
			err = w.restart(d)
		}
	}()
	return do()
}

// restart is what happens after the power has failed.
func (w *World) restart(d *device) error {
	if err := d.disk.lose(w.random.IntN(len(d.disk.unsynced) + 1)); err != nil {
		return err
	}
	if err := d.boot(w.wall); err != nil {
		return err
	}
	if d == w.server && !d.Vector().Covers(w.promised) {
		return fmt.Errorf("the server lost what it said it has")
	}
	return nil
}

// speak puts a message of one device to another into the air.
func (w *World) speak(from, to *device) error {
	return w.alive(from, func() error {
		if from.key != nil {
			if err := from.seal(); err != nil {
				return err
			}
		}
		m, err := from.peer(to).Next(ctx, from)
		if err != nil {
			return err
		}
		data, err := m.Encode()
		if err != nil {
			return err
		}
		if from == w.server {
			w.promised = w.promised.Join(m.Have)
		}
		w.air = append(w.air, packet{from, to, data})
		return nil
	})
}

// hear delivers a message.
func (w *World) hear(p packet) error {
	w.trace.Write(p.data)
	m, bad, err := wire.Decode(p.data)
	if err != nil {
		return err
	}
	if len(bad) > 0 {
		return bad[0]
	}
	return w.alive(p.to, func() error { return p.to.peer(p.from).Take(ctx, p.to, m) })
}
