//go:build js && wasm

package browser

import (
	"context"
	"fmt"
	"strconv"
	"syscall/js"
	"time"

	"leafturn/client-sdk/replica"
)

// Limits of one request.
const (
	timeout = 30 * time.Second
	// maxAnswer is more than the largest photo that a server takes.
	maxAnswer = 64 << 20
)

// Transport is a replica.Streamer to the server that this page came from. It is
// safe for concurrent use.
type Transport struct{}

// Do carries one request. ErrOffline if no whole answer came.
func (Transport) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	abort := js.Global().Get("AbortController").New()
	stop := context.AfterFunc(ctx, func() { abort.Call("abort") })
	defer stop()
	answer, err := fetch(r, abort.Get("signal"))
	if err != nil {
		return nil, offline(ctx, err)
	}
	return whole(ctx, r, answer, abort)
}

// Stream carries one request whose answer comes in pieces. It waits for them as long
// as ctx lets it.
func (Transport) Stream(ctx context.Context, r replica.Request, take func([]byte)) (*replica.Response, error) {
	abort := js.Global().Get("AbortController").New()
	stop := context.AfterFunc(ctx, func() { abort.Call("abort") })
	defer stop()
	answer, err := fetch(r, abort.Get("signal"))
	if err != nil {
		return nil, offline(ctx, err)
	}
	if answer.Get("status").Int() != 200 {
		return whole(ctx, r, answer, abort)
	}
	for reader := answer.Get("body").Call("getReader"); ; {
		piece, err := await(reader.Call("read"))
		if err != nil {
			return nil, offline(ctx, err)
		}
		if piece.Get("done").Bool() {
			return &replica.Response{Status: 200, Header: headers(answer)}, nil
		}
		take(goBytes(piece.Get("value")))
	}
}

func offline(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		err = fmt.Errorf("%w: %w", ctx.Err(), err)
	}
	return replica.ErrOffline.Because(err)
}

// whole reads an answer to its end.
func whole(ctx context.Context, r replica.Request, answer, abort js.Value) (*replica.Response, error) {
	tooLong := func() (*replica.Response, error) {
		abort.Call("abort")
		return nil, replica.ErrServer.Because(fmt.Errorf("the answer is longer than %d bytes", maxAnswer))
	}
	if n, err := strconv.Atoi(headers(answer)["content-length"]); err == nil && n > maxAnswer && r.Method != "HEAD" {
		return tooLong()
	}
	body, err := await(answer.Call("arrayBuffer"))
	if err != nil {
		return nil, offline(ctx, err)
	}
	if body.Get("byteLength").Int() > maxAnswer {
		return tooLong()
	}
	return &replica.Response{Status: answer.Get("status").Int(), Header: headers(answer), Body: goBytes(uint8Array.New(body))}, nil
}

// fetch gives the answer as soon as its head is there.
func fetch(r replica.Request, signal js.Value) (js.Value, error) {
	header := js.Global().Get("Object").New()
	for name, value := range r.Header {
		header.Set(name, value)
	}
	options := map[string]any{
		"method": r.Method, "headers": header, "signal": signal,
		// The token is in a header; nothing else identifies this phone, nothing is
		// kept in between, and a redirect would carry the token elsewhere.
		"credentials": "omit", "cache": "no-store", "redirect": "error",
	}
	if len(r.Body) > 0 {
		options["body"] = jsBytes(r.Body)
	}
	var promise js.Value
	if err := attempt(func() { promise = js.Global().Call("fetch", r.Path, options) }); err != nil {
		return js.Value{}, err
	}
	return await(promise)
}

// headers gives an answer's headers, whose names browsers give in lower case.
func headers(answer js.Value) map[string]string {
	pairs := js.Global().Get("Array").Call("from", answer.Get("headers").Call("entries"))
	out := make(map[string]string, pairs.Length())
	for i := range pairs.Length() {
		out[pairs.Index(i).Index(0).String()] = pairs.Index(i).Index(1).String()
	}
	return out
}
