package simtest_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"math/rand/v2"
	"runtime/debug"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
)

var ctx = context.Background()

const (
	minute = 60_000
	hour   = 60 * minute
	day    = 24 * hour
)

// options say how large a world is.
type options struct {
	moves int
	lying bool // plants a fault: disks do not sync
}

// usual is large enough for all that the laws speak of, and small enough for ten
// thousand of them.
var usual = options{moves: 70}

// world is a household's phones, its servers and the network between them.
type world struct {
	opt     options
	seed    uint64
	random  *rand.Rand // of the move that happens now
	now     int64      // the right time, Unix milliseconds
	servers []*server
	phones  []*phone
	gone    []*phone // replaced by others
	air     []packet // requests that will arrive late
	fair    bool     // nothing goes wrong on the network
	calls   int      // exchanges since the last reset

	saved   []entry                        // what somebody was told is saved, and is on some disk
	kins    map[model.DeviceID]*kin        // of every device that there ever was
	ids     map[model.TaskKey]model.TaskID // of the tasks that somebody saw
	tasks   map[model.TaskID]model.TaskKey // the other way round
	touched map[model.MemberID]bool        // whose rights somebody changed
	trace   hash.Hash                      // of all that the servers said
	story   []string                       // what happened, in words

	broken error // a law that did not hold where no error can be returned
}

// packet is a request under way.
type packet struct {
	to   *server
	data replica.Request
}

// live lives through the moves of a seed, heals, and says which law does not hold.
// A panic is a fault like others.
func live(seed uint64, all []move, opt options) (w *world, err error) {
	defer func() {
		if x := recover(); x != nil {
			w.say("%s", debug.Stack())
			err = fmt.Errorf("panic: %v", x)
		}
	}()
	w = &world{opt: opt, seed: seed, random: rand.New(rand.NewPCG(seed, 0)), now: 1_790_000_000_000, trace: sha256.New(),
		kins: map[model.DeviceID]*kin{}, ids: map[model.TaskKey]model.TaskID{}, tasks: map[model.TaskID]model.TaskKey{}, touched: map[model.MemberID]bool{}}
	if err := w.begin(); err != nil {
		return w, fmt.Errorf("begin: %w", err)
	}
	for i, m := range all {
		w.random = rand.New(rand.NewPCG(m.dice, 0))
		w.now += w.between(0, minute)
		if err := errors.Join(moves[m.kind].do(w), w.broken); err != nil {
			return w, fmt.Errorf("move %d: %w", i, err)
		}
	}
	w.random = rand.New(rand.NewPCG(seed, 1))
	if err := errors.Join(w.heal(), w.broken); err != nil {
		return w, fmt.Errorf("heal: %w", err)
	}
	return w, w.check()
}

// begin founds the household, puts plants into it and lets a second person join.
func (w *world) begin() error {
	w.fair = true
	defer func() { w.fair = false }()
	first := w.newPhone("phone 0")
	r, err := replica.Found(ctx, first.vault(), first.opts, replica.Start{Household: "Birch Row 4", Zone: "Europe/Oslo", Member: "Ash", Phone: "Ash's phone", Setup: "set-up"})
	if err := first.use(r, err); err != nil {
		return err
	}
	w.phones = []*phone{first}
	for i := range 1 + w.random.IntN(2) {
		w.servers = append(w.servers, w.newServer(fmt.Sprintf("server %d", i), first.Household()))
	}
	if err := first.do(furniture()...); err != nil {
		return err
	}
	return w.admit(first, model.Helper, model.MemberID{})
}

// admit lets somebody join by an invitation from a keeper's phone. An invitation is
// in time by the clock of the server that the phone spoke to last, so one server
// admits the newcomer, and the others hear of it from the phones.
func (w *world) admit(by *phone, role model.Role, member model.MemberID) error {
	if err := w.settle(by); err != nil {
		return err
	}
	i, _, err := by.Invite(ctx, role, member)
	if errors.Is(err, replica.ErrMember) { // the server was restored, and nobody else has told it of them
		i, _, err = by.Invite(ctx, role, model.MemberID{})
	}
	if err != nil {
		return err
	}
	p, err := w.newcomer(i)
	if err != nil {
		return err
	}
	for _, s := range w.servers {
		for _, who := range []*phone{by, p, by} {
			if err := w.sync(who, s); err != nil {
				return err
			}
		}
	}
	return nil
}

// newcomer is a phone that takes an invitation.
func (w *world) newcomer(i replica.Invitation) (*phone, error) {
	name := fmt.Sprintf("phone %d", len(w.phones)+len(w.gone))
	p := w.newPhone(name)
	w.say("%s takes invitation %v", name, i.Op)
	r, err := replica.Join(ctx, p.vault(), p.opts, i, replica.Start{Member: name + "'s owner", Phone: name})
	w.phones = append(w.phones, p)
	return p, p.use(r, err)
}

func (w *world) say(format string, args ...any) {
	w.story = append(w.story, fmt.Sprintf(format, args...))
}

func (w *world) between(low, high int64) int64 { return low + w.random.Int64N(high-low+1) }

func (w *world) somePhone() *phone { return pick(w.random, w.phones) }

func (w *world) someServer() *server { return pick(w.random, w.servers) }

func pick[T any](r *rand.Rand, of []T) T { return of[r.IntN(len(of))] }

// alive runs what a phone does until it is done or the phone loses power; then the
// phone starts again.
func (w *world) alive(p *phone, do func() error) (err error) {
	defer func() {
		if x := recover(); x != nil {
			if _, ok := x.(crash); !ok {
				panic(x)
			}
			w.say("%s loses power", p.name)
			err = w.restartPhone(p)
		}
	}()
	return do()
}

func (w *world) restartPhone(p *phone) error {
	if err := p.disk.lose(w.random.IntN(len(p.disk.loose)+1), w.random.IntN(2) == 0); err != nil {
		return fmt.Errorf("%s: disk: %w", p.name, err)
	}
	if err := p.boot(); err != nil {
		return fmt.Errorf("%s does not start: %w", p.name, err)
	}
	return nil
}

// restartServer starts a server after a loss of power. What phones believe that it
// has must be there.
func (w *world) restartServer(s *server) error {
	if err := s.disk.lose(w.random.IntN(len(s.disk.loose)+1), false); err != nil {
		return fmt.Errorf("%s: disk: %w", s.name, err)
	}
	s.boot()
	has, err := s.has()
	if err == nil && !has.Covers(s.promised) {
		err = fmt.Errorf("%s lost what it had acknowledged", s.name)
	}
	return err
}

// sync lets a phone sync with a server.
func (w *world) sync(p *phone, s *server) error {
	return w.alive(p, func() error {
		err := p.syncTold(s)
		w.kins[p.Device()], p.out = p.kin, fault.CodeOf(err)
		return err
	})
}

// settle syncs a phone with the first server until that does not refuse its log: what is
// invited in a history that is given up has to be invited again.
func (w *world) settle(p *phone) error {
	for range 3 {
		if err := w.sync(p, w.servers[0]); err != nil {
			return err
		}
		if p.Status().Blocked == nil {
			return nil
		}
	}
	return fmt.Errorf("%s: %w", p.name, p.Status().Blocked)
}

// ignore gives nil for the faults that may happen.
func ignore(err error, codes ...fault.Code) error {
	if slices.Contains(codes, fault.CodeOf(err)) {
		return nil
	}
	return err
}
