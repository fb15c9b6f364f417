//go:build js && wasm

package browser_test

import (
	"context"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/browser"
	"leafturn/client-sdk/replica"
)

func TestTransport(t *testing.T) {
	ctx := context.Background()
	do := func(ctx context.Context, path string) (*replica.Response, error) {
		return browser.Transport{}.Do(ctx, replica.Request{Method: "GET", Path: path, Header: map[string]string{"authorization": "Bearer x"}})
	}
	t.Run("carries request and answer", func(t *testing.T) {
		for range 2 { // the second would carry the cookie that the first brought
			resp, err := browser.Transport{}.Do(ctx, replica.Request{
				Method: "PATCH", Path: "/echo?size=320", Header: map[string]string{"tus-resumable": "1.0.0"}, Body: []byte("hello"),
			})
			require.NoError(t, err, "an answer that refuses is an answer")
			require.Equal(t, http.StatusTeapot, resp.Status)
			require.Equal(t, "PATCH|/echo?size=320|1.0.0||hello", string(resp.Body))
			require.Equal(t, "7", resp.Header["upload-offset"])
		}
	})
	t.Run("has no body where none is sent", func(t *testing.T) {
		resp, err := browser.Transport{}.Do(ctx, replica.Request{Method: "HEAD", Path: "/echo"})
		require.NoError(t, err)
		require.Empty(t, resp.Body)
		require.Equal(t, "7", resp.Header["upload-offset"])
	})
	for _, path := range []string{"/broken", "/cut", "/elsewhere"} {
		t.Run("is offline at "+path, func(t *testing.T) {
			_, err := do(ctx, path)
			require.ErrorIs(t, err, replica.ErrOffline)
		})
	}
	t.Run("gives up when the caller does", func(t *testing.T) {
		short, cancel := context.WithTimeout(ctx, 20*time.Millisecond)
		defer cancel()
		_, err := do(short, "/hangs")
		require.ErrorIs(t, err, replica.ErrOffline)
		require.ErrorIs(t, err, context.DeadlineExceeded)
	})
	t.Run("refuses an endless answer", func(t *testing.T) {
		_, err := do(ctx, "/endless")
		require.ErrorIs(t, err, replica.ErrServer)
	})
}

func TestTransportStreams(t *testing.T) {
	ctx := context.Background()
	stream := func(ctx context.Context, path string, take func([]byte)) (*replica.Response, error) {
		return browser.Transport{}.Stream(ctx, replica.Request{Method: "GET", Path: path, Header: map[string]string{"last-event-id": "!"}}, take)
	}
	var pieces []string
	take := func(piece []byte) {
		pieces = append(pieces, string(piece))
		go func() { _, _ = browser.Transport{}.Do(ctx, replica.Request{Method: "POST", Path: "/saved"}) }()
	}
	t.Run("brings pieces at once", func(t *testing.T) {
		pieces = nil
		resp, err := stream(ctx, "/stream", take)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, resp.Status)
		require.Empty(t, resp.Body)
		require.Equal(t, []string{"one!", "two!", "three!"}, pieces)
	})
	t.Run("is offline when it breaks", func(t *testing.T) {
		_, err := stream(ctx, "/stream?broken", take)
		require.ErrorIs(t, err, replica.ErrOffline)
	})
	t.Run("gives a refusal whole", func(t *testing.T) {
		resp, err := stream(ctx, "/echo", take)
		require.NoError(t, err)
		require.Equal(t, http.StatusTeapot, resp.Status)
		require.Equal(t, "GET|/echo|||", string(resp.Body))
	})
	t.Run("gives up when the caller does", func(t *testing.T) {
		short, cancel := context.WithCancel(ctx)
		_, err := stream(short, "/stream", func([]byte) { cancel() })
		require.ErrorIs(t, err, replica.ErrOffline)
		require.ErrorIs(t, err, context.Canceled)
	})
}
