package simtest

import (
	"bytes"
	"fmt"
	"reflect"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// step lets one thing happen.
func (w *World) step() error {
	w.now += w.between(0, 60_000)
	p := w.phones[w.random.IntN(len(w.phones))]
	switch n := w.random.IntN(20); {
	case n < 5:
		return w.note(p)
	case n < 9:
		if w.random.IntN(2) == 0 {
			return w.speak(p, w.server)
		}
		return w.speak(w.server, p)
	case n < 16:
		return w.weather()
	case n == 16: // a person sets the clock
		p.skew = w.between(-172_800_000, 172_800_000)
	case n == 17:
		return w.alive(p, p.keepSnapshot)
	case n == 18: // the power will fail, at one of the next writes
		d := w.devices()[w.random.IntN(1+len(w.phones))]
		d.disk.fuse = 1 + w.random.IntN(6)
	case n == 19:
		return w.restart(w.devices()[w.random.IntN(1+len(w.phones))])
	}
	return nil
}

// weather delivers, loses or repeats one of the messages in the air.
func (w *World) weather() error {
	if len(w.air) == 0 {
		return nil
	}
	i := w.random.IntN(len(w.air))
	p := w.air[i]
	if w.random.IntN(5) > 0 { // else it comes again
		w.air = append(w.air[:i:i], w.air[i+1:]...)
	}
	if w.random.IntN(5) == 0 {
		return nil // lost
	}
	return w.hear(p)
}

// note lets a person write something and remembers what they were told.
func (w *World) note(p *device) error {
	body := w.body(p)
	next := model.FactID{Device: p.id()}
	return w.alive(p, func() error {
		// An operation may need a define operation before it.
		next.Seq = p.State.Tail(p.id()).Head().Seq + 1
		w.written[next] = true
		w.written[model.FactID{Device: next.Device, Seq: next.Seq + 1}] = true
		id, err := p.write(body)
		if err != nil {
			return err
		}
		w.saved = append(w.saved, id)
		return nil
	})
}

// body is something that a person may write: mostly looks, and settings that
// several quarrel about.
func (w *World) body(p *device) any {
	plant := model.PlantID(uuid.NewSHA1(uuid.NameSpaceOID, []byte{byte(w.random.IntN(3))}))
	ref := model.Ref{Kind: model.KindPlant, ID: plant.UUID()}
	set := func(f model.Field, v model.Value) *oplog.Set {
		key := model.FieldKey{Field: f}
		return &oplog.Set{Record: ref, Fields: []oplog.Setting{{Key: key, Value: v, Over: p.State.Current(ref, key).By}}}
	}
	fact := func(b model.Body) *model.Fact {
		return &model.Fact{At: model.Instant(w.now), By: p.State.Member(p.id()), Body: b}
	}
	task := model.TaskKey{Rule: model.RuleRound, Subject: uuid.NewSHA1(uuid.NameSpaceURL, nil), Ordinal: 1 + w.random.Uint32N(5)}
	switch w.random.IntN(6) {
	case 0:
		return set(model.PlantName, model.Text(fmt.Sprint("fern ", w.random.IntN(9))))
	case 1:
		return set(model.PlantRemoved, model.Bool(w.random.IntN(2) == 0))
	case 2:
		return fact(&model.TaskCompleted{Task: task})
	case 3:
		if len(w.saved) > 0 {
			return fact(&model.Withdrawn{Fact: w.saved[w.random.IntN(len(w.saved))]})
		}
	}
	return fact(&model.Inspection{Plant: plant, Round: task, Findings: []model.Finding{{Part: model.Underside, Counts: model.Counts{0, uint16(w.random.IntN(40))}}}})
}

// heal ends all trouble and lets everybody talk to the server, in turn, until there
// is nothing left to say.
func (w *World) heal() error {
	w.air = nil
	for _, d := range w.devices() {
		d.disk.fuse = 0
	}
	for range 2 { // what the last phone brings has to reach the first
		for _, p := range w.phones {
			if err := w.talk(p); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *World) talk(p *device) error {
	for range 20 {
		for _, turn := range [][2]*device{{p, w.server}, {w.server, p}} {
			if err := w.speak(turn[0], turn[1]); err != nil {
				return err
			}
			last := w.air[len(w.air)-1]
			w.air = nil
			if err := w.hear(last); err != nil {
				return err
			}
		}
		if p.peer(w.server).Settled(p) && w.server.peer(p).Settled(w.server) {
			return nil
		}
	}
	return fmt.Errorf("%s and the server find no end", p.name)
}

// check proves what the package promises.
func (w *World) check() error {
	want, err := w.server.State.Snapshot()
	if err != nil {
		return err
	}
	for _, p := range w.phones {
		got, err := p.State.Snapshot()
		if err != nil {
			return err
		}
		if !bytes.Equal(want, got) {
			return fmt.Errorf("%s and the server differ", p.name)
		}
		if !reflect.DeepEqual(w.server.State.Book().Plants, p.State.Book().Plants) {
			return fmt.Errorf("%s reads other plants than the server", p.name)
		}
	}
	ops, err := w.logs()
	if err != nil {
		return err
	}
	return w.compare(ops)
}

// logs reads every operation anew from the server's disk.
func (w *World) logs() (map[model.FactID]*oplog.Op, error) {
	all := map[model.FactID]*oplog.Op{}
	for _, p := range w.phones {
		tail := oplog.NewTail(p.household, p.id())
		key, _ := w.server.State.Key(p.id())
		batches, err := w.server.disk.Read(ctx, p.id(), 0, 1<<30)
		if err != nil {
			return nil, err
		}
		for _, b := range batches {
			ops, next, err := tail.Read(key, b)
			if err != nil {
				return nil, fmt.Errorf("log of %s: %w", p.name, err)
			}
			for _, op := range ops {
				all[op.ID] = op
			}
			tail = next
		}
	}
	return all, nil
}

// compare holds the logs against what people wrote and were told.
func (w *World) compare(ops map[model.FactID]*oplog.Op) error {
	for _, id := range w.saved {
		if ops[id] == nil {
			return fmt.Errorf("%v was saved and is gone", id)
		}
	}
	for id, op := range ops {
		switch b := op.Body.(type) {
		case *model.Fact:
			if !w.written[id] {
				return fmt.Errorf("%v is there and nobody wrote it", id)
			}
		case *oplog.Set:
			if over := ops[b.Fields[0].Over]; over != nil && over.Stamp >= op.Stamp {
				return fmt.Errorf("%v replaced %v, but is not later", id, over.ID)
			}
		}
	}
	return nil
}
