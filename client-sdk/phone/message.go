//go:build js && wasm

package main

import (
	"context"
	"syscall/js"
	"time"

	"leafturn/client-sdk/app"
	"leafturn/client-sdk/screens"
)

// The messages between the page and the core are plain JavaScript objects, written
// down in web/app.js and here.

func text(m js.Value, name string) string {
	if v := m.Get(name); v.Type() == js.TypeString {
		return v.String()
	}
	return ""
}

func number(m js.Value, name string) int {
	if v := m.Get(name); v.Type() == js.TypeNumber {
		return v.Int()
	}
	return 0
}

// event reads what a person did: the action, its fields and the files chosen.
func event(m js.Value) app.Event {
	e := app.Event{Do: text(m, "do"), Data: app.Data{}}
	if data := m.Get("data"); data.Type() == js.TypeObject {
		names := js.Global().Get("Object").Call("keys", data)
		for i := range names.Length() {
			name := names.Index(i).String()
			e.Data[name] = values(data.Get(name))
		}
	}
	if files := m.Get("files"); files.Type() == js.TypeObject {
		for i := range files.Length() {
			f := files.Index(i)
			e.Files = append(e.Files, app.File{Field: text(f, "field"), Name: text(f, "name"), Bytes: goBytes(f.Get("bytes"))})
		}
	}
	return e
}

// values is a field's value, or its values if it came more than once.
func values(v js.Value) []string {
	switch v.Type() {
	case js.TypeString:
		return []string{v.String()}
	case js.TypeObject:
		var out []string
		for i := range v.Length() {
			out = append(out, v.Index(i).String())
		}
		return out
	}
	return nil
}

func goBytes(buffer js.Value) []byte {
	array := js.Global().Get("Uint8Array").New(buffer)
	b := make([]byte, array.Length())
	js.CopyBytesToGo(b, array)
	return b
}

func bytesOf(b []byte) js.Value {
	array := js.Global().Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(array, b)
	return array
}

// savedFor is how long the browser has to begin to save a file.
const savedFor = time.Minute

// address is where the page finds a file that a person wants to keep.
func address(d *app.Download) string {
	at := js.Global().Get("URL")
	blob := js.Global().Get("Blob").New([]any{bytesOf(d.Bytes)}, map[string]any{"type": d.Type})
	url := at.Call("createObjectURL", blob)
	time.AfterFunc(savedFor, func() { at.Call("revokeObjectURL", url) })
	return url.String()
}

func post(m map[string]any) { js.Global().Call("postMessage", m) }

// answer posts what the page shall do.
func (c *core) answer(id int, a app.Answer) {
	if a.Work != nil {
		c.beside(func() {
			a.Work(func(do func(context.Context) app.Answer) {
				c.later(func() { c.answer(0, do(context.Background())) })
			})
		})
	}
	m := map[string]any{}
	set := func(name, value string) {
		if value != "" {
			m[name] = value
		}
	}
	if id != 0 {
		m["id"] = id
	}
	var swaps []any
	for _, s := range a.Swaps {
		how := "inner"
		if s.Outer {
			how = "outer"
		}
		swaps = append(swaps, map[string]any{"target": s.Target, "html": s.HTML, "how": how})
	}
	if swaps != nil {
		m["swaps"] = swaps
	}
	set("go", a.Go)
	set("title", a.Title)
	set("say", a.Say)
	set("focus", a.Focus)
	set("status", a.Status)
	set("clip", a.Clip)
	if a.Keep {
		m["keep"] = true
	}
	if a.Top {
		m["scroll"] = "top"
	}
	if a.Undo != nil {
		m["undo"] = map[string]any{"do": screens.ActUndo, "label": a.Undo.Label, "seconds": app.UndoSeconds, "data": map[string]any{"id": a.Undo.ID}}
	}
	set("push", a.Push)
	if a.Keepsake != nil {
		keepsake(a.Keepsake)
	}
	if a.Save != nil {
		m["save"] = map[string]any{"name": a.Save.Name, "url": address(a.Save)}
	}
	if len(m) > 0 {
		post(m)
	}
}
