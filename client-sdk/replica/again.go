package replica

import (
	"context"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// carryOver writes again what waits from before a move, as soon as this phone is
// folded in. Its log holds nothing but its beginning until then, so a phone that is
// killed meanwhile knows whether it has done so.
func (r *Replica) carryOver(ctx context.Context) error {
	m, err := r.move(ctx)
	if err != nil || m == nil {
		return err
	}
	if m.Done || r.state.Access(r.device) != nil {
		r.status.Moved = m.told()
		return nil
	}
	if r.state.Tail(r.device).Head().Seq == 1 {
		w, err := r.writeAgain(m)
		if err != nil {
			return err
		}
		if err := r.keepMove(ctx, m); err != nil {
			return err
		}
		if err := r.vault.AddPending(ctx, w.pending); err != nil {
			return err
		}
		r.accept(w)
		r.clock.Observe(r.state.Stamp()) // the old stamps, which a clock started since has not seen
	}
	m.Done = true
	r.status.Moved = m.told()
	return r.keepMove(ctx, m)
}

// writeAgain drafts the operations that wait, as this phone's now. When something was
// done, and by whom, stays; so does the stamp, unless the log has gone past it.
func (r *Replica) writeAgain(m *move) (written, error) {
	draft, err := r.state.Draft(r.device)
	if err != nil {
		return written{}, err
	}
	old := oplog.RestoreTail(r.identity.Household, m.Tail)
	a := again{from: m.Device, to: r.device, was: r.state.Member(m.Device), is: r.state.Member(r.device), ids: map[uint64]model.FactID{}}
	last := r.state.Tail(r.device).Stamp()
	for _, name := range r.namesAgain(a) {
		if _, err := draft.Write(last, name); err != nil && !refused(err) {
			return written{}, err
		}
	}
	m.Carried, m.Left = 0, nil
	for _, data := range m.Ops {
		op, err := old.Replay(data)
		if err != nil {
			return written{}, fmt.Errorf("carry over: %w", err)
		}
		body := a.rewrite(op.Body)
		if body == nil {
			continue
		}
		if id, ok := r.written(body, a.was != a.is); ok {
			a.ids[op.ID.Seq] = id
			m.Carried++
			continue
		}
		last = max(last, op.Stamp)
		id, err := draft.Write(last, body)
		if refused(err) {
			m.Left = append(m.Left, op.ID.Seq)
			continue
		}
		if err != nil {
			return written{}, err
		}
		a.ids[op.ID.Seq] = id
		m.Carried++
	}
	return written{draft: draft, pending: r.pendingOf(draft)}, nil
}

// refused reports whether an entry was not written because it may not be, and not
// because something went wrong.
func refused(err error) bool {
	_, is := fault.From(err)
	return is
}

// namesAgain names this phone and its member as they were called, because nobody else
// would: the phone has a new id, and perhaps came back as a new member. What the person
// called them since is written after that, and counts.
func (r *Replica) namesAgain(a again) []any {
	b := r.state.Book()
	var ops []any
	if d := b.Devices[a.from]; d != nil && d.Name != "" {
		ops = append(ops, Set(model.KindDevice, a.to, To(model.DeviceName, model.Text(freeName(b, a.is, d.Name)))))
	}
	if m := b.Members[a.was]; m != nil && m.Name != "" && b.Members[a.is].Name == "" {
		ops = append(ops, Set(model.KindMember, a.is, To(model.MemberName, model.Text(m.Name))))
	}
	return ops
}

// freeName is a name that no phone of a member has: a number tells a copy from what it
// was made of.
func freeName(b *model.Book, of model.MemberID, name string) string {
	taken := map[string]bool{}
	for _, d := range b.Devices {
		taken[d.Name] = taken[d.Name] || d.Member == of && !d.Ended
	}
	base, free := unnumbered(name), name
	for n := 2; taken[free]; n++ {
		free = fmt.Sprintf("%s (%d)", base, n)
	}
	return free
}

// unnumbered is a name without the number of a copy: that of a copy's copy counts on.
func unnumbered(name string) string {
	at := strings.LastIndex(name, " (")
	if at < 0 || !strings.HasSuffix(name, ")") {
		return name
	}
	if _, err := strconv.Atoi(name[at+2 : len(name)-1]); err != nil {
		return name
	}
	return name[:at]
}

// again turns operations of one device and member into those of another.
type again struct {
	from, to model.DeviceID
	was, is  model.MemberID
	ids      map[uint64]model.FactID // of what was written again, by its old number
}

// written finds a fact that another has written again already. Whoever is not known to
// the household may be there as somebody else meanwhile, by a new invitation; whoever came
// by one may have a copy that did so too, and then it does not matter by whom it is.
func (r *Replica) written(body any, byAnybody bool) (model.FactID, bool) {
	f, ok := body.(*model.Fact)
	if !ok {
		return model.FactID{}, false
	}
	members := r.state.Book().Members
	for _, k := range r.state.Book().Facts() {
		if k.At == f.At && (byAnybody || k.By == f.By || members[k.By] == nil || members[f.By] == nil) && reflect.DeepEqual(k.Body, f.Body) {
			return k.ID, true
		}
	}
	return model.FactID{}, false
}

// rewrite gives the operation to write, nil for what need not be: names of ids, a
// beginning, and invitations, whose links name the old log.
func (a *again) rewrite(body any) any {
	switch b := body.(type) {
	case *model.Fact:
		f := *b
		f.ID, f.Stamp = model.FactID{}, 0
		if f.By == a.was {
			f.By = a.is
		}
		if w, ok := b.Body.(*model.Withdrawn); ok {
			f.Body = &model.Withdrawn{Fact: a.id(w.Fact), Note: w.Note}
		}
		return &f
	case *oplog.Set:
		s := oplog.Set{Record: b.Record}
		switch {
		case s.Record == model.Ref{Kind: model.KindDevice, ID: a.from.UUID()}:
			s.Record.ID = a.to.UUID()
		case s.Record == model.Ref{Kind: model.KindMember, ID: a.was.UUID()}:
			s.Record.ID = a.is.UUID()
		}
		for _, f := range b.Fields {
			f.Over = a.id(f.Over)
			s.Fields = append(s.Fields, f)
		}
		return &s
	case *oplog.Appoint, *oplog.Revoke, *oplog.Remove:
		return b
	}
	return nil
}

func (a *again) id(of model.FactID) model.FactID {
	if now, ok := a.ids[of.Seq]; ok && of.Device == a.from {
		return now
	}
	return of
}
