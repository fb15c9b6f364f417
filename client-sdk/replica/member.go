package replica

import (
	"context"
	"reflect"
	"slices"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// What follows changes the household's members and devices. A change applies to what
// this phone has not seen yet of the others' entries, so sync before it. The faults are
// oplog.ErrNotAllowed and oplog.ErrLastKeeper.

// ChangeRole gives a member another role.
func (r *Replica) ChangeRole(ctx context.Context, m model.MemberID, role model.Role) error {
	return r.change(ctx, func(s *merge.State) any { return &oplog.Appoint{Member: m, Role: role, Seen: s.Seen(m)} })
}

// Revoke signs a device off, such as a phone that was lost. Devices that took its place
// stay; they can be revoked by themselves.
func (r *Replica) Revoke(ctx context.Context, d model.DeviceID) error {
	return r.change(ctx, func(s *merge.State) any {
		return &oplog.Revoke{Device: d, Last: s.Tail(d).Head().Seq, Stay: s.Successors(d)}
	})
}

// Remove signs off all devices of a member, and lets no invitation bring the member
// back that was written before.
func (r *Replica) Remove(ctx context.Context, m model.MemberID) error {
	return r.change(ctx, func(s *merge.State) any { return &oplog.Remove{Member: m, Seen: s.Seen(m)} })
}

// Leave removes this phone's own member.
func (r *Replica) Leave(ctx context.Context) error { return r.Remove(ctx, r.Member()) }

func (r *Replica) change(ctx context.Context, body func(*merge.State) any) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, err := r.do(ctx, []any{body(r.state)})
	return err
}

// Access says whether this phone may write: nil, or a fault such as oplog.ErrRevoked.
// A phone that was signed off may hear of it from the server only, see Status.
func (r *Replica) Access() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state.Access(r.device)
}

// SetAside gives the entries that are in the logs and do not count, because their
// authors could not write them any more, but for those that were written again.
func (r *Replica) SetAside() []merge.Aside {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.DeleteFunc(r.state.SetAside(), r.writtenAgain)
}

// writtenAgain reports whether what was set aside counts now by another entry.
func (r *Replica) writtenAgain(x merge.Aside) bool {
	switch b := x.Body.(type) {
	case *model.Fact:
		return slices.ContainsFunc(r.state.Book().Facts(), func(f *model.Fact) bool {
			return f.At == b.At && f.By == b.By && reflect.DeepEqual(f.Body, b.Body)
		})
	case *oplog.Set:
		return !slices.ContainsFunc(b.Fields, func(f oplog.Setting) bool {
			return r.state.Current(b.Record, f.Key).Value != f.Value
		})
	}
	return false
}

// WriteAgain writes an entry that was set aside as this phone's own: what was seen or
// done, by whom and when, stays.
func (r *Replica) WriteAgain(ctx context.Context, id model.FactID) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, a := range r.state.SetAside() {
		if a.ID != id {
			continue
		}
		switch b := a.Body.(type) {
		case *model.Fact:
			_, err := r.do(ctx, []any{&model.Fact{At: b.At, By: b.By, Body: b.Body}})
			return err
		case *oplog.Set:
			set := &oplog.Set{Record: b.Record}
			for _, f := range b.Fields {
				set.Fields = append(set.Fields, oplog.Setting{Key: f.Key, Value: f.Value})
			}
			_, err := r.do(ctx, []any{set})
			return err
		}
	}
	return oplog.ErrNotAllowed
}
