package replica

import (
	"context"
	"crypto/ed25519"
	"io"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// Do writes operations to this phone's log: *model.Fact, *oplog.Set and
// *oplog.Invite. When it returns without error they are safe on this phone and
// folded in; with an error none of them is. A fact without By or At was seen or
// done now by this phone's member; a setting without Over replaces what this phone
// shows.
func (r *Replica) Do(ctx context.Context, bodies ...any) ([]model.FactID, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.do(ctx, bodies)
}

func (r *Replica) do(ctx context.Context, bodies []any) ([]model.FactID, error) {
	w, err := r.write(bodies)
	if err != nil {
		return nil, err
	}
	if err := r.vault.AddPending(ctx, w.pending); err != nil {
		return nil, err
	}
	r.accept(w)
	return w.ids, nil
}

// written is what was encoded and checked, and is to be kept before it counts.
type written struct {
	draft   *merge.Draft
	pending []Pending
	ids     []model.FactID
}

func (r *Replica) write(bodies []any) (written, error) {
	draft, err := r.state.Draft(r.device)
	if err != nil {
		return written{}, err
	}
	w := written{draft: draft}
	for _, body := range bodies {
		id, err := draft.Write(r.clock.Now(), r.complete(body))
		if err != nil {
			return written{}, err
		}
		w.ids = append(w.ids, id)
	}
	w.pending = r.pendingOf(draft)
	return w, nil
}

func (r *Replica) pendingOf(d *merge.Draft) []Pending {
	out := make([]Pending, len(d.Ops))
	next := r.state.Tail(r.device).Head().Seq + 1
	for i, op := range d.Ops {
		out[i] = Pending{Seq: next + uint64(i), Op: op}
	}
	return out
}

func (r *Replica) accept(w written) {
	r.state.Accept(w.draft)
	r.pending = append(r.pending, w.draft.Ops...)
	r.fresh += len(w.draft.Ops)
}

// complete fills in what the caller left to the replica.
func (r *Replica) complete(body any) any {
	switch b := body.(type) {
	case *model.Fact:
		f := *b
		if f.By.IsZero() {
			f.By = r.state.Member(r.device)
		}
		if f.At == 0 {
			f.At = model.Instant(r.clock.Wall())
		}
		return &f
	case *oplog.Set:
		s := oplog.Set{Record: b.Record, Fields: make([]oplog.Setting, len(b.Fields))}
		for i, f := range b.Fields {
			if f.Over.IsZero() {
				f.Over = r.state.Over(b.Record, f.Key)
			}
			s.Fields[i] = f
		}
		return &s
	}
	return body
}

// Set makes the operation that sets fields of a record.
func Set[Of any](kind model.Kind, id model.ID[Of], fields ...oplog.Setting) *oplog.Set {
	return &oplog.Set{Record: model.Ref{Kind: kind, ID: id.UUID()}, Fields: fields}
}

// To sets one field.
func To(f model.Field, v model.Value) oplog.Setting {
	return oplog.Setting{Key: model.FieldKey{Field: f}, Value: v}
}

// Seen makes a fact that happens now.
func Seen(body model.Body) *model.Fact { return &model.Fact{Body: body} }

// ErrMember is returned for a member who is not, or no longer, in the household as this
// phone knows it.
var ErrMember = fault.New("member_unknown", "This person is not in the household any more. Invite them as somebody new.")

// inviteMillis is how long an invitation holds: fifteen minutes.
const inviteMillis = 15 * 60 * 1000

// Invite writes an invitation and gives what its link holds. It must be synced
// before anybody can use it. A member's id invites a further phone of that member;
// ErrMember if there is none.
func (r *Replica) Invite(ctx context.Context, role model.Role, member model.MemberID) (Invitation, model.Instant, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(r.opts.Random, seed); err != nil {
		return Invitation{}, 0, err
	}
	i := Invitation{Household: r.identity.Household, Seed: seed}
	expires := r.Now() + inviteMillis
	op := &oplog.Invite{Key: i.key().Public().(ed25519.PublicKey), Role: role, Expires: expires, Member: member}
	r.mu.Lock()
	defer r.mu.Unlock()
	if !member.IsZero() && r.state.Book().Members[member] == nil {
		return Invitation{}, 0, ErrMember // nobody could ever use it
	}
	ids, err := r.do(ctx, []any{op})
	if err != nil {
		return Invitation{}, 0, err
	}
	i.Op = ids[0]
	i.After = r.state.Tail(r.device).Stamp()
	return i, expires, nil
}

// Used reports whether somebody has joined by an invitation, as far as this phone
// knows.
func (r *Replica) Used(i Invitation) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, by := r.state.Invitation(i.Op)
	return len(by) > 0
}
