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

// Transport is a replica.Transport to the server that this page came from. It is
// safe for concurrent use.
type Transport struct{}

// Do carries one request. ErrOffline if no whole answer came.
func (Transport) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	abort := js.Global().Get("AbortController").New()
	stop := context.AfterFunc(ctx, func() { abort.Call("abort") })
	defer stop()
	answer, body, err := fetch(r, abort.Get("signal"))
	if err != nil {
		if ctx.Err() != nil {
			err = fmt.Errorf("%w: %w", ctx.Err(), err)
		}
		return nil, replica.ErrOffline.Because(err)
	}
	if body.IsUndefined() {
		abort.Call("abort")
		return nil, replica.ErrServer.Because(fmt.Errorf("the answer is longer than %d bytes", maxAnswer))
	}
	return &replica.Response{Status: answer.Get("status").Int(), Header: headers(answer), Body: goBytes(uint8Array.New(body))}, nil
}

// fetch gives the answer and its body, which is undefined if it is too long.
func fetch(r replica.Request, signal js.Value) (answer, body js.Value, err error) {
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
		return answer, body, err
	}
	if answer, err = await(promise); err != nil {
		return answer, body, err
	}
	if n, err := strconv.Atoi(headers(answer)["content-length"]); err == nil && n > maxAnswer && r.Method != "HEAD" {
		return answer, js.Undefined(), nil
	}
	body, err = await(answer.Call("arrayBuffer"))
	if err == nil && body.Get("byteLength").Int() > maxAnswer {
		body = js.Undefined()
	}
	return answer, body, err
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
