package replica

import (
	"context"
	"crypto/ed25519"
	"io"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Start is what a person says when a household or a phone is new.
type Start struct {
	Household string // name; empty when joining
	Zone      string // IANA name; empty when joining
	Member    string // the person's name; empty for a further phone of a known member
	Phone     string // what to call this phone
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
	household := Set(model.KindHousehold, id.Household, To(model.HouseholdName, model.Text(s.Household)), To(model.HouseholdZone, model.Text(s.Zone)))
	return r, r.begin(ctx, &oplog.Found{Key: public, Nonce: nonce}, oplog.FoundingMember(public), s, household)
}

// Join makes this phone a device of the household that invited it. It must be
// announced to the server before it can sync, see Announce.
func Join(ctx context.Context, v Vault, o Options, i Invitation, s Start) (*Replica, error) {
	key, err := newKey(o)
	if err != nil {
		return nil, err
	}
	r := newReplica(v, o, Identity{Household: i.Household, Seed: key.Seed()})
	r.clock.Observe(i.After)
	return r, r.begin(ctx, i.accept(r.public()), model.MemberID{}, s)
}

func newKey(o Options) (ed25519.PrivateKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(o.Random, seed); err != nil {
		return nil, err
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// begin writes and signs the first operation of this device, then the names.
func (r *Replica) begin(ctx context.Context, first any, member model.MemberID, s Start, more ...any) error {
	tail := r.state.Tail(r.device)
	ops, err := tail.Write(r.clock.Now(), first)
	if err != nil {
		return err
	}
	b, err := tail.Seal(r.key, r.sealed, ops)
	if err != nil {
		return err
	}
	if err := r.vault.Begin(ctx, r.identity); err != nil {
		return err
	}
	if err := r.vault.Append(ctx, []*oplog.Batch{b}); err != nil {
		return err
	}
	if _, joins := first.(*oplog.Join); joins {
		// The invitation is in a log that this phone has not seen yet, so nothing can
		// be folded in, or named, before the first Sync.
		return r.keepNames(ctx, s)
	}
	r.state.Apply(b)
	r.sealed = r.state.Tail(r.device).Head()
	r.mu.Lock()
	defer r.mu.Unlock()
	_, err = r.do(ctx, append(more, r.names(member, s)...))
	return err
}

func (r *Replica) names(member model.MemberID, s Start) []any {
	var ops []any
	if s.Member != "" {
		ops = append(ops, Set(model.KindMember, member, To(model.MemberName, model.Text(s.Member))))
	}
	if s.Phone != "" {
		ops = append(ops, Set(model.KindDevice, r.device, To(model.DeviceName, model.Text(s.Phone))))
	}
	return ops
}

// The names that a joining phone's person gave, kept until they can be written.
const (
	keptMemberName = "join-member-name"
	keptPhoneName  = "join-phone-name"
)

func (r *Replica) keepNames(ctx context.Context, s Start) error {
	if err := r.vault.Keep(ctx, keptMemberName, []byte(s.Member)); err != nil {
		return err
	}
	return r.vault.Keep(ctx, keptPhoneName, []byte(s.Phone))
}

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
	r.mu.Lock()
	me := r.state.Member(r.device)
	if me.IsZero() {
		r.mu.Unlock()
		return nil
	}
	_, err = r.do(ctx, r.names(me, Start{Member: string(member), Phone: string(phone)}))
	r.mu.Unlock()
	if err != nil {
		return err
	}
	if err := r.vault.Keep(ctx, keptMemberName, nil); err != nil {
		return err
	}
	return r.vault.Keep(ctx, keptPhoneName, nil)
}

// Correct sets how far the phone's clock is off, in milliseconds to add.
func (r *Replica) Correct(offset int64) { r.clock.Correct(offset) }

// observe makes later stamps exceed what was taken in.
func (r *Replica) observe(s hlc.Stamp) { r.clock.Observe(s) }
