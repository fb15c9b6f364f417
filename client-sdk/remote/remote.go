// Package remote carries a replica's requests to a server with net/http, for
// scripts, tests and every program that is not in a browser.
package remote

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"leafturn/client-sdk/replica"
)

// Limits of one request.
const (
	timeout = 30 * time.Second
	// maxAnswer is more than the largest photo that a server takes.
	maxAnswer = 64 << 20
)

var errTooLong = fmt.Errorf("the answer is longer than %d bytes", maxAnswer)

// Transport is a replica.Streamer to one server. It is safe for concurrent use.
type Transport struct {
	client    *http.Client
	streaming http.Client // the same, without an end to its patience
	server    *url.URL
}

// New makes the transport to a server, such as http://127.0.0.1:8437. The client
// may be nil; its redirects are not followed and its cookies are not used.
func New(server string, client *http.Client) (*Transport, error) {
	u, err := url.Parse(server)
	if err != nil {
		return nil, fmt.Errorf("parse server address: %w", err)
	}
	if u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, fmt.Errorf("parse server address: %q is not an address like http://127.0.0.1:8437", server)
	}
	c := http.Client{Timeout: timeout}
	if client != nil {
		c = *client
	}
	// A redirect would carry the token to wherever it points.
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	c.Jar = nil
	t := &Transport{client: &c, streaming: c, server: u}
	t.streaming.Timeout = 0
	return t, nil
}

// Do carries one request. ErrOffline if no whole answer came.
func (t *Transport) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	req, err := t.request(ctx, r)
	if err != nil {
		return nil, err
	}
	resp, err := t.client.Do(req)
	if err != nil {
		return nil, replica.ErrOffline.Because(err)
	}
	defer func() { _ = resp.Body.Close() }() // read to its end or given up
	return whole(resp)
}

// Stream carries one request whose answer comes in pieces. It waits for them as long
// as ctx lets it.
func (t *Transport) Stream(ctx context.Context, r replica.Request, take func([]byte)) (*replica.Response, error) {
	req, err := t.request(ctx, r)
	if err != nil {
		return nil, err
	}
	resp, err := t.streaming.Do(req)
	if err != nil {
		return nil, replica.ErrOffline.Because(err)
	}
	defer func() { _ = resp.Body.Close() }() // read to its end or given up
	if resp.StatusCode != http.StatusOK {
		return whole(resp)
	}
	for piece := make([]byte, 1<<10); ; {
		n, err := resp.Body.Read(piece)
		if n > 0 {
			take(piece[:n])
		}
		if err == io.EOF {
			return &replica.Response{Status: resp.StatusCode, Header: lowered(resp.Header)}, nil
		}
		if err != nil {
			return nil, replica.ErrOffline.Because(err)
		}
	}
}

// whole reads an answer to its end.
func whole(resp *http.Response) (*replica.Response, error) {
	body, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer+1))
	if err != nil {
		return nil, replica.ErrOffline.Because(err)
	}
	if len(body) > maxAnswer {
		return nil, replica.ErrServer.Because(errTooLong)
	}
	return &replica.Response{Status: resp.StatusCode, Header: lowered(resp.Header), Body: body}, nil
}

var errPath = errors.New("a request's path begins with a slash")

func (t *Transport) request(ctx context.Context, r replica.Request) (*http.Request, error) {
	if !strings.HasPrefix(r.Path, "/") {
		return nil, errPath
	}
	address := strings.TrimSuffix(t.server.String(), "/") + r.Path
	req, err := http.NewRequestWithContext(ctx, r.Method, address, bytes.NewReader(r.Body))
	if err != nil {
		return nil, fmt.Errorf("make request: %w", err)
	}
	for name, value := range r.Header {
		req.Header.Set(name, value)
	}
	return req, nil
}

func lowered(h http.Header) map[string]string {
	out := make(map[string]string, len(h))
	for name, values := range h {
		out[strings.ToLower(name)] = strings.Join(values, ", ")
	}
	return out
}
