//go:build js && wasm

package browser

import (
	"context"
	"syscall/js"
)

const snapshotKey = "state"

// SaveSnapshot keeps a snapshot.
func (v *Vault) SaveSnapshot(ctx context.Context, data []byte) error {
	return v.write(ctx, []string{snapshots}, func(t tx) { t.store(snapshots).Call("put", jsBytes(data), snapshotKey) })
}

// Snapshot gives the last snapshot.
func (v *Vault) Snapshot(ctx context.Context) ([]byte, error) {
	return v.bytes(ctx, snapshots, snapshotKey)
}

// Keep holds a setting.
func (v *Vault) Keep(ctx context.Context, name string, value []byte) error {
	return v.write(ctx, []string{kept}, func(t tx) { keep(t, name, value) })
}

func keep(t tx, name string, value []byte) {
	if value == nil {
		t.store(kept).Call("delete", name)
		return
	}
	t.store(kept).Call("put", jsBytes(value), name)
}

// Kept gives a setting.
func (v *Vault) Kept(ctx context.Context, name string) ([]byte, error) {
	return v.bytes(ctx, kept, name)
}

// bytes gives the bytes under a key, nil if there are none.
func (v *Vault) bytes(ctx context.Context, store, key string) ([]byte, error) {
	got, err := v.view(ctx, []string{store}, func(t tx) []js.Value { return []js.Value{t.store(store).Call("get", key)} })
	if err != nil || got[0].IsUndefined() {
		return nil, err
	}
	return goBytes(got[0]), nil
}
