//go:build js && wasm

package browser

import (
	"context"
	"errors"
	"syscall/js"

	"leafturn/client-sdk/replica"
	"leafturn/model/fault"
)

// schemaVersion is the version of the database's form.
//
// 1 (2026-11): first.
const schemaVersion = 1

// The object stores. The names are on people's phones: never rename one.
const (
	identities = "identity"   // "me" → {household, device, seed, local}
	heads      = "heads"      // device → sequence (8 bytes) and hash
	batches    = "batches"    // [device, sequence of its last operation] → bytes
	pendings   = "pending"    // sequence → bytes
	kept       = "kept"       // name → bytes
	snapshots  = "snapshot"   // "state" → bytes
	photos     = "photos"     // sum → see photoRecord; index waiting: added, if not sent
	renderings = "renderings" // [sum, size] → {mime, data}
)

var allStores = []string{identities, heads, batches, pendings, kept, snapshots, photos, renderings}

// Returned when a database cannot be opened.
var (
	ErrNoStorage = fault.New("storage_missing", "This browser keeps nothing for this page, so Leafturn cannot work here. Leave private browsing, or allow storage for this page.")
	ErrVersion   = fault.New("storage_version_unknown", "What is on this phone was written by a newer Leafturn. Close all its pages and open it again to update; nothing is lost.")
)

// openDatabase opens a database and makes its stores if it is new.
func openDatabase(ctx context.Context, name string) (js.Value, error) {
	factory := js.Global().Get("indexedDB")
	if factory.Type() != js.TypeObject {
		return js.Value{}, ErrNoStorage
	}
	if err := ctx.Err(); err != nil {
		return js.Value{}, err
	}
	var request js.Value
	if err := attempt(func() { request = factory.Call("open", name, schemaVersion) }); err != nil {
		return js.Value{}, ErrNoStorage.Because(err)
	}
	err := waitOpen(request)
	if err != nil {
		return js.Value{}, err
	}
	return request.Get("result"), nil
}

func waitOpen(request js.Value) error {
	done := make(chan error, 1)
	upgrade := js.FuncOf(func(_ js.Value, args []js.Value) any {
		// What is thrown here aborts the upgrade, and the error event tells.
		makeStores(request.Get("result"))
		return nil
	})
	success := js.FuncOf(func(js.Value, []js.Value) any { done <- nil; return nil })
	failed := js.FuncOf(func(js.Value, []js.Value) any { done <- openError(request.Get("error")); return nil })
	defer upgrade.Release()
	defer success.Release()
	defer failed.Release()
	request.Set("onupgradeneeded", upgrade)
	request.Set("onsuccess", success)
	request.Set("onerror", failed)
	return <-done
}

func openError(e js.Value) error {
	err := errorOf(e)
	switch {
	case e.Get("name").String() == "VersionError":
		return ErrVersion.Because(err)
	case errors.Is(err, replica.ErrFull):
		return err
	}
	return ErrNoStorage.Because(err)
}

func makeStores(db js.Value) {
	for _, name := range allStores {
		store := db.Call("createObjectStore", name)
		if name == photos {
			store.Call("createIndex", waiting, waiting)
		}
	}
}

// tx is a running transaction. It ends by itself when nothing is asked of it any
// more, so requests are made either at once or from the answer to an earlier one.
type tx struct{ js.Value }

func (t tx) store(name string) js.Value { return t.Call("objectStore", name) }

// view reads. ask makes the requests, whose results view gives in their order.
func (v *Vault) view(ctx context.Context, stores []string, ask func(tx) []js.Value) ([]js.Value, error) {
	var results []js.Value
	err := v.transact(ctx, "readonly", stores, ask, func(_ tx, got []js.Value) error {
		results = got
		return nil
	})
	return results, err
}

// update reads and writes in one step. ask makes requests to read, then gets their
// results and writes; if it fails, nothing of the transaction is kept. Both must not
// wait for anything.
func (v *Vault) update(ctx context.Context, stores []string, ask func(tx) []js.Value, then func(tx, []js.Value) error) error {
	return v.transact(ctx, "readwrite", stores, ask, then)
}

// write only writes.
func (v *Vault) write(ctx context.Context, stores []string, put func(tx)) error {
	return v.update(ctx, stores, func(tx) []js.Value { return nil }, func(t tx, _ []js.Value) error {
		put(t)
		return nil
	})
}

// transact returns when the transaction has ended. It does not give up when the
// context ends meanwhile, because then nobody would know what was kept.
func (v *Vault) transact(ctx context.Context, mode string, stores []string, ask func(tx) []js.Value, then func(tx, []js.Value) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	e := &ending{done: make(chan error, 1)}
	defer e.release()
	names := make([]any, len(stores))
	for i, s := range stores {
		names[i] = s
	}
	err := attempt(func() {
		e.tx = tx{v.db.Call("transaction", names, mode, map[string]any{"durability": "strict"})}
	})
	if err != nil {
		return err
	}
	e.on(e.tx.Value, "oncomplete", func() { e.done <- nil })
	e.on(e.tx.Value, "onabort", func() { e.done <- e.why() })
	e.protect(func() error {
		requests := ask(e.tx)
		if len(requests) == 0 {
			return then(e.tx, nil)
		}
		// Requests are answered in order, so the last answer is the last to come.
		e.on(requests[len(requests)-1], "onsuccess", func() {
			e.protect(func() error { return then(e.tx, results(requests)) })
		})
		return nil
	})
	return <-e.done
}

func results(requests []js.Value) []js.Value {
	out := make([]js.Value, len(requests))
	for i, r := range requests {
		out[i] = r.Get("result")
	}
	return out
}

// ending follows a transaction to its end.
type ending struct {
	tx    tx
	done  chan error
	err   error // why we ended it ourselves
	funcs []js.Func
}

func (e *ending) on(target js.Value, event string, f func()) {
	fn := js.FuncOf(func(js.Value, []js.Value) any { f(); return nil })
	e.funcs = append(e.funcs, fn)
	target.Set(event, fn)
}

func (e *ending) release() {
	for _, f := range e.funcs {
		f.Release()
	}
}

// protect ends the transaction without effect if f fails or JavaScript throws.
func (e *ending) protect(f func() error) {
	var err error
	if thrown := attempt(func() { err = f() }); thrown != nil {
		err = thrown
	}
	if err == nil {
		return
	}
	e.err = err
	// If it has ended already, its own event says how.
	_ = attempt(func() { e.tx.Call("abort") })
}

func (e *ending) why() error {
	if e.err != nil {
		return e.err
	}
	if cause := e.tx.Get("error"); cause.Type() == js.TypeObject {
		return errorOf(cause)
	}
	return errors.New("the browser gave up a transaction")
}
