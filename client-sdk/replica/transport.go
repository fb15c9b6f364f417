package replica

import (
	"context"

	"leafturn/model/fault"
)

// Transport carries one request to the server and brings the answer. Package
// remote does it with net/http, package browser with the browser's fetch.
type Transport interface {
	// Do returns ErrOffline if no answer came: the server may or may not have done
	// what was asked. Any answer, also one that refuses, is a Response.
	Do(ctx context.Context, r Request) (*Response, error)
}

// Request is what is asked of the server. Paths begin with a slash.
type Request struct {
	Method string
	Path   string
	Header map[string]string
	Body   []byte
}

// Response is what the server answered. Header names are in lower case.
type Response struct {
	Status int
	Header map[string]string
	Body   []byte
}

// ErrOffline is returned when the server could not be reached.
var ErrOffline = fault.New("offline", "The server cannot be reached right now. Everything is saved on this phone and will be sent later.")

// ErrServer is returned when the server answered with something unreadable.
var ErrServer = fault.New("server_trouble", "The server had trouble and took nothing in. Everything is saved on this phone and will be sent later.")
