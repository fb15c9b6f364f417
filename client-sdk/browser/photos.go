//go:build js && wasm

package browser

import (
	"context"
	"fmt"
	"syscall/js"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
)

// waiting is the field, and the index over it, of photos that are not sent. Records
// without the field are not in the index. IndexedDB cannot index true and false.
const waiting = "waiting"

func photoRecord(p replica.Photo) map[string]any {
	r := map[string]any{
		"sum": p.Sum.String(), "type": p.Type, "bytes": p.Bytes, "added": float64(p.Added), "upload": p.Upload,
		"tries": p.Tries, "code": string(p.Code), "words": p.Words, "held": p.Held,
	}
	if !p.Sent {
		r[waiting] = float64(p.Added)
	}
	return r
}

func readPhoto(r js.Value) (replica.Photo, error) {
	sum, err := model.ParsePhotoSum(r.Get("sum").String())
	if err != nil {
		return replica.Photo{}, fmt.Errorf("read photo: %w", err)
	}
	return replica.Photo{
		Sum: sum, Type: r.Get("type").String(), Bytes: r.Get("bytes").Int(), Added: model.Instant(r.Get("added").Float()),
		Sent: r.Get(waiting).IsUndefined(), Upload: r.Get("upload").String(), Tries: r.Get("tries").Int(),
		Code: fault.Code(r.Get("code").String()), Words: r.Get("words").String(), Held: r.Get("held").Bool(),
	}, nil
}

func renderingKey(sum model.PhotoSum, size int) []any { return []any{sum.String(), size} }

func putRendering(t tx, sum model.PhotoSum, size int, mime string, data []byte) {
	t.store(renderings).Call("put", map[string]any{"mime": mime, "data": jsBytes(data)}, renderingKey(sum, size))
}

func getPhoto(sum model.PhotoSum) func(tx) []js.Value {
	return func(t tx) []js.Value { return []js.Value{t.store(photos).Call("get", sum.String())} }
}

// PutPhoto keeps a photo.
func (v *Vault) PutPhoto(ctx context.Context, p replica.Photo, data []byte) error {
	return v.update(ctx, []string{photos, renderings}, getPhoto(p.Sum), func(t tx, got []js.Value) error {
		if got[0].IsUndefined() {
			t.store(photos).Call("add", photoRecord(p), p.Sum.String())
			putRendering(t, p.Sum, 0, p.Type, data)
		}
		return nil
	})
}

// PutRendering keeps a smaller rendering of a photo.
func (v *Vault) PutRendering(ctx context.Context, sum model.PhotoSum, size int, mime string, data []byte) error {
	return v.write(ctx, []string{renderings}, func(t tx) { putRendering(t, sum, size, mime, data) })
}

// PhotoBytes gives the bytes of a photo or rendering.
func (v *Vault) PhotoBytes(ctx context.Context, sum model.PhotoSum, size int) ([]byte, string, error) {
	got, err := v.view(ctx, []string{renderings}, func(t tx) []js.Value {
		return []js.Value{t.store(renderings).Call("get", renderingKey(sum, size))}
	})
	if err != nil {
		return nil, "", err
	}
	if got[0].IsUndefined() {
		return nil, "", replica.ErrNoPhoto
	}
	return goBytes(got[0].Get("data")), got[0].Get("mime").String(), nil
}

// Queue gives the photos that are not sent. The index gives them by their time and
// then by their key, the sum.
func (v *Vault) Queue(ctx context.Context) ([]replica.Photo, error) {
	got, err := v.view(ctx, []string{photos}, func(t tx) []js.Value {
		return []js.Value{t.store(photos).Call("index", waiting).Call("getAll")}
	})
	if err != nil {
		return nil, err
	}
	var out []replica.Photo
	for i := range got[0].Length() {
		p, err := readPhoto(got[0].Index(i))
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// UpdatePhoto replaces what is known about a photo.
func (v *Vault) UpdatePhoto(ctx context.Context, p replica.Photo) error {
	return v.update(ctx, []string{photos}, getPhoto(p.Sum), func(t tx, got []js.Value) error {
		if got[0].IsUndefined() {
			return replica.ErrNoPhoto
		}
		t.store(photos).Call("put", photoRecord(p), p.Sum.String())
		return nil
	})
}

// DropPhoto forgets a photo. In the order of keys an array comes after every number,
// so the range holds all sizes.
func (v *Vault) DropPhoto(ctx context.Context, sum model.PhotoSum) error {
	return v.write(ctx, []string{photos, renderings}, func(t tx) {
		t.store(photos).Call("delete", sum.String())
		t.store(renderings).Call("delete", keyRange.Call("bound", []any{sum.String()}, []any{sum.String(), []any{}}))
	})
}
