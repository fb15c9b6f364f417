package replica

import (
	"context"
	"crypto/ed25519"
	"io"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// Start is what a person says when a household or a phone is new.
type Start struct {
	Household string // name; empty when joining
	Zone      string // IANA name; empty when joining
	Member    string // the person's name; empty for a further phone of a known member
	Phone     string // what to call this phone
	Setup     string // the one-time token of a set-up link; empty when joining or local
	Local     bool   // keep the household on this phone only
}

// Found makes a household on this phone. Nobody else knows of it until it has been
// announced to a server, see Announce.
func Found(ctx context.Context, v Vault, o Options, s Start) (*Replica, error) {
	key, err := newKey(o)
	if err != nil {
		return nil, err
	}
	var nonce [16]byte
	if _, err := io.ReadFull(o.Random, nonce[:]); err != nil {
		return nil, err
	}
	public := key.Public().(ed25519.PublicKey)
	id := Identity{Household: model.HouseholdIDOf(public, nonce), Seed: key.Seed(), Local: s.Local}
	r := newReplica(v, o, id)
	b := Beginning{Identity: id}
	if b.First, err = firstOf(id.Household, key, r.clock.Now(), &oplog.Found{Key: public, Nonce: nonce}); err != nil {
		return nil, err
	}
	if refused := r.state.Apply(b.First); len(refused) > 0 {
		return nil, refused[0].Err
	}
	r.sealed = r.state.Tail(r.device).Head()
	household := Set(model.KindHousehold, id.Household, To(model.HouseholdName, model.Text(s.Household)), To(model.HouseholdZone, model.Text(s.Zone)))
	w, err := r.write(append([]any{household}, r.names(oplog.FoundingMember(public), s)...))
	if err != nil {
		return nil, err
	}
	b.Pending = w.pending
	if s.Setup != "" {
		// Kept with the rest, so that a phone killed before it was announced can still be.
		b.Kept = map[string][]byte{keptSetup: []byte(s.Setup)}
	}
	if err := v.Begin(ctx, b); err != nil {
		return nil, err
	}
	r.accept(w)
	return r, nil
}

// Join makes this phone a device of the household that invited it. It must be
// announced to the server before it can sync, see Announce.
func Join(ctx context.Context, v Vault, o Options, i Invitation, s Start) (*Replica, error) {
	key, err := newKey(o)
	if err != nil {
		return nil, err
	}
	id := Identity{Household: i.Household, Seed: key.Seed()}
	r := newReplica(v, o, id)
	r.clock.Observe(i.After)
	// The invitation is in a log that this phone has not seen yet, so nothing can be
	// folded in, or named, before the first Sync.
	b := Beginning{Identity: id, Kept: map[string][]byte{keptMemberName: []byte(s.Member), keptPhoneName: []byte(s.Phone)}}
	if b.First, err = firstOf(id.Household, key, r.clock.Now(), i.accept(r.public())); err != nil {
		return nil, err
	}
	if err := v.Begin(ctx, b); err != nil {
		return nil, err
	}
	return r, nil
}

func newKey(o Options) (ed25519.PrivateKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(o.Random, seed); err != nil {
		return nil, err
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// names makes the operations that name this phone and its member, but not again
// what this phone has named already.
func (r *Replica) names(member model.MemberID, s Start) []any {
	var ops []any
	if s.Member != "" && !r.named(model.KindMember, member.UUID(), model.MemberName) {
		ops = append(ops, Set(model.KindMember, member, To(model.MemberName, model.Text(s.Member))))
	}
	if s.Phone != "" && !r.named(model.KindDevice, r.device.UUID(), model.DeviceName) {
		ops = append(ops, Set(model.KindDevice, r.device, To(model.DeviceName, model.Text(s.Phone))))
	}
	return ops
}

func (r *Replica) named(k model.Kind, id uuid.UUID, f model.Field) bool {
	return r.state.Current(model.Ref{Kind: k, ID: id}, model.FieldKey{Field: f}).By.Device == r.device
}

// keptSetup is the token that this phone announces its household with.
const keptSetup = "setup"

// The names that a joining phone's person gave, kept until they can be written.
const (
	keptMemberName = "join-member-name"
	keptPhoneName  = "join-phone-name"
)

// writeNames writes the kept names as soon as this phone is folded in.
func (r *Replica) writeNames(ctx context.Context) error {
	member, err := r.vault.Kept(ctx, keptMemberName)
	if err != nil {
		return err
	}
	phone, err := r.vault.Kept(ctx, keptPhoneName)
	if err != nil || member == nil && phone == nil {
		return err
	}
	if done, err := r.nameSelf(ctx, Start{Member: string(member), Phone: string(phone)}); err != nil || !done {
		return err
	}
	if err := r.vault.Keep(ctx, keptMemberName, nil); err != nil {
		return err
	}
	return r.vault.Keep(ctx, keptPhoneName, nil)
}

// nameSelf reports whether this phone is folded in, so that it could be named.
func (r *Replica) nameSelf(ctx context.Context, s Start) (bool, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.state.Access(r.device) != nil {
		return false, nil
	}
	_, err := r.do(ctx, r.names(r.state.Member(r.device), s))
	return err == nil, err
}
