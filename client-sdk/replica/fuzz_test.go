package replica_test

import (
	"context"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// The decoders of this package and their fuzz targets: ParseInvitation
// (FuzzParseInvitation), what is read of a vault's settings and its snapshot (FuzzKept),
// and what a server answers (FuzzAnswer).

// FuzzParseInvitation feeds hostile links to their reader: what is taken for an
// invitation says the same when it is written again.
func FuzzParseInvitation(f *testing.F) {
	whole := replica.Invitation{Household: model.HouseholdID{1}, Op: model.FactID{Device: model.DeviceID{2}, Seq: 300}, Seed: make([]byte, 32), After: 1 << 50}
	for _, link := range []string{whole.String(), whole.String()[:40], whole.String() + "AA", "Ag" + whole.String()[2:], "", "!", "AQ=="} {
		f.Add(link)
	}
	f.Fuzz(func(t *testing.T, link string) {
		i, err := replica.ParseInvitation(link)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		again, err := replica.ParseInvitation(i.String())
		require.NoError(t, err)
		require.Equal(t, i, again)
	})
}

// settings are the names under which this package keeps something in a vault.
var settings = []string{"contacts", "contact", "restored", "move", "next", "given-up", "asked", "segments", "checked", "setup", "join-member-name", "join-phone-name"}

// damagedVault has other bytes than were kept under one name, and keeps nothing any
// more, so that it can be opened again and again.
type damagedVault struct {
	replica.Vault
	name string // of the setting, or snapshot
	data []byte
}

const snapshot = "snapshot"

func (v damagedVault) Kept(ctx context.Context, name string) ([]byte, error) {
	if name == v.name {
		return v.data, nil
	}
	return v.Vault.Kept(ctx, name)
}

func (v damagedVault) Snapshot(ctx context.Context) ([]byte, error) {
	if v.name == snapshot {
		return v.data, nil
	}
	return v.Vault.Snapshot(ctx)
}

func (damagedVault) Keep(context.Context, string, []byte) error            { return nil }
func (damagedVault) SaveSnapshot(context.Context, []byte) error            { return nil }
func (damagedVault) PutSegment(context.Context, *oplog.Batch) error        { return nil }
func (damagedVault) AddPending(context.Context, []replica.Pending) error   { return nil }
func (damagedVault) Replace(context.Context, replica.Replacement) error    { return errBroken }
func (damagedVault) Succeed(context.Context, replica.Succession) error     { return errBroken }
func (damagedVault) UpdatePhoto(context.Context, replica.Photo) error      { return errBroken }
func (damagedVault) PutPhoto(context.Context, replica.Photo, []byte) error { return errBroken }

// FuzzKept puts hostile bytes into the place of each setting of a phone, and of its
// snapshot: the phone does not crash, neither when it opens nor when it syncs.
func FuzzKept(f *testing.F) {
	s, _, a, b := pair(f)
	a.do(f, look("one"), named("Fern"))
	a.sync(f)
	b.sync(f)
	names := append(settings, snapshot)
	for i, name := range names {
		for _, v := range []any{nil, []any{}, []any{nil}, []any{1, 2, []any{nil}}, []any{1, 2, []any{[]any{[]any{1, 2}, nil, true, true}}}} {
			data, err := cbor.Marshal(v)
			require.NoError(f, err)
			f.Add(uint8(i), data)
		}
		f.Add(uint8(i), make([]byte, 12))
		f.Add(uint8(i), make([]byte, 24))
		if kept, err := a.vault.Kept(ctx, name); err == nil && kept != nil {
			f.Add(uint8(i), kept)
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, data []byte) {
		v := damagedVault{a.vault, names[int(which)%len(names)], data}
		r, err := replica.Open(ctx, v, a.opts)
		if err != nil {
			return // it says that it cannot be read, and changes nothing
		}
		r.Status()
		_, _ = r.LeftBehind(ctx)
		_ = r.CheckSnapshot(ctx)
		_ = r.Sync(ctx, r.Server(&line{server: s}))
	})
}

// parrot is a server that says the same whatever it is asked.
type parrot struct {
	status int
	body   []byte
}

func (p parrot) Do(context.Context, replica.Request) (*replica.Response, error) {
	return &replica.Response{Status: p.status, Body: p.body, Header: map[string]string{}}, nil
}

// FuzzAnswer lets a server say hostile things: the phone says what is wrong, and has
// all its entries as before.
func FuzzAnswer(f *testing.F) {
	_, _, a, _ := pair(f)
	a.do(f, look("one"))
	want, err := a.Digest()
	require.NoError(f, err)
	for _, body := range []string{"", "{}", "null", `{"token":"x","challenge":"y","digest":"z"}`, `{"missing":["00"]}`, `{"code":"log_forked","words":"no"}`, `{"path":1}`} {
		f.Add(uint16(200), []byte(body))
		f.Add(uint16(401), []byte(body))
		f.Add(uint16(500), []byte(body))
	}
	f.Fuzz(func(t *testing.T, status uint16, body []byte) {
		v := damagedVault{Vault: a.vault}
		r, err := replica.Open(ctx, v, a.opts)
		require.NoError(t, err)
		server := r.Server(parrot{int(status), body})
		if err := r.Sync(ctx, server); err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
		}
		_, _ = server.Digest(ctx)
		_, _ = server.OpenCalendar(ctx)
		_ = server.Subscribe(ctx, string(body))
		_, _, _ = server.Photo(ctx, model.PhotoSum{1}, 320)
		got, err := r.Digest()
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}
