package remote_test

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
)

func transport(t *testing.T, h http.HandlerFunc) *remote.Transport {
	s := httptest.NewServer(h)
	t.Cleanup(s.Close)
	tr, err := remote.New(s.URL, nil)
	require.NoError(t, err)
	return tr
}

func TestDoCarriesRequestAndAnswer(t *testing.T) {
	tr := transport(t, func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		w.Header().Set("Upload-Offset", "7")
		w.Header().Add("X-Twice", "a")
		w.Header().Add("X-Twice", "b")
		w.WriteHeader(http.StatusTeapot)
		_, _ = w.Write([]byte(strings.Join([]string{r.Method, r.URL.RequestURI(), r.Header.Get("Tus-Resumable"), string(body)}, "|")))
	})
	resp, err := tr.Do(context.Background(), replica.Request{
		Method: "PATCH", Path: "/api/v1/x?size=320", Header: map[string]string{"tus-resumable": "1.0.0"}, Body: []byte("hello"),
	})
	require.NoError(t, err, "an answer that refuses is an answer")
	require.Equal(t, http.StatusTeapot, resp.Status)
	require.Equal(t, "PATCH|/api/v1/x?size=320|1.0.0|hello", string(resp.Body))
	require.Equal(t, "7", resp.Header["upload-offset"])
	require.Equal(t, "a, b", resp.Header["x-twice"])
}

func TestDoIsOfflineWithoutAWholeAnswer(t *testing.T) {
	block := make(chan struct{})
	t.Cleanup(func() { close(block) })
	cases := []struct {
		name    string
		handler http.HandlerFunc
	}{
		{"connection broken before the answer", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }},
		{"body cut short", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "100")
			_, _ = w.Write([]byte("half"))
			panic(http.ErrAbortHandler)
		}},
		{"no answer in time", func(_ http.ResponseWriter, r *http.Request) {
			select {
			case <-block:
			case <-r.Context().Done():
			}
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := httptest.NewServer(c.handler)
			t.Cleanup(s.Close)
			tr, err := remote.New(s.URL, &http.Client{Timeout: 50 * time.Millisecond})
			require.NoError(t, err)
			_, err = tr.Do(context.Background(), replica.Request{Method: "GET", Path: "/"})
			require.ErrorIs(t, err, replica.ErrOffline)
		})
	}
	t.Run("nobody listens", func(t *testing.T) {
		s := httptest.NewServer(nil)
		s.Close()
		tr, err := remote.New(s.URL, nil)
		require.NoError(t, err)
		_, err = tr.Do(context.Background(), replica.Request{Method: "GET", Path: "/"})
		require.ErrorIs(t, err, replica.ErrOffline)
	})
	t.Run("the caller gave up", func(t *testing.T) {
		tr := transport(t, func(http.ResponseWriter, *http.Request) {})
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		_, err := tr.Do(ctx, replica.Request{Method: "GET", Path: "/"})
		require.ErrorIs(t, err, replica.ErrOffline)
		require.ErrorIs(t, err, context.Canceled)
	})
}

func TestDoRefusesAnEndlessAnswer(t *testing.T) {
	tr := transport(t, func(w http.ResponseWriter, _ *http.Request) {
		chunk := make([]byte, 1<<20)
		for {
			if _, err := w.Write(chunk); err != nil {
				return
			}
		}
	})
	_, err := tr.Do(context.Background(), replica.Request{Method: "GET", Path: "/"})
	require.ErrorIs(t, err, replica.ErrServer)
}

func TestDoKeepsTheTokenFromOthers(t *testing.T) {
	asked := make(chan string, 1)
	elsewhere := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { asked <- r.Header.Get("Authorization") }))
	t.Cleanup(elsewhere.Close)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, &http.Cookie{Name: "track", Value: "1"})
		if r.Header.Get("Cookie") != "" {
			w.WriteHeader(http.StatusConflict)
			return
		}
		http.Redirect(w, r, elsewhere.URL, http.StatusFound)
	}))
	t.Cleanup(s.Close)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	tr, err := remote.New(s.URL, &http.Client{Jar: jar})
	require.NoError(t, err)
	for range 2 {
		resp, err := tr.Do(context.Background(), replica.Request{Method: "GET", Path: "/", Header: map[string]string{"authorization": "Bearer x"}})
		require.NoError(t, err)
		require.Equal(t, http.StatusFound, resp.Status, "no cookie was sent back")
	}
	require.Empty(t, asked, "the redirect was not followed")
}

func TestNewRefusesWhatIsNoAddress(t *testing.T) {
	for _, address := range []string{"", "127.0.0.1:8437", "ftp://x", "http://", "://"} {
		_, err := remote.New(address, nil)
		require.Error(t, err, address)
	}
	tr, err := remote.New("http://127.0.0.1:1", nil)
	require.NoError(t, err)
	_, err = tr.Do(context.Background(), replica.Request{Method: "GET", Path: "elsewhere.invalid/"})
	require.Error(t, err)
}

// A stream's pieces arrive while the server is still at it, and no patience for whole
// answers cuts it off.
func TestStreamBringsPiecesAtOnce(t *testing.T) {
	pieces := make(chan string)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("X-Mark", r.Header.Get("Last-Event-ID"))
		for piece := range pieces {
			_, _ = w.Write([]byte(piece))
			w.(http.Flusher).Flush()
		}
	}))
	t.Cleanup(s.Close)
	tr, err := remote.New(s.URL, &http.Client{Timeout: time.Nanosecond})
	require.NoError(t, err)
	var got string
	taken := make(chan string)
	ended := make(chan error, 1)
	var resp *replica.Response
	go func() {
		var err error
		resp, err = tr.Stream(context.Background(), replica.Request{Method: "GET", Path: "/", Header: map[string]string{"last-event-id": "m"}},
			func(piece []byte) { taken <- string(piece) })
		ended <- err
	}()
	for _, piece := range []string{"one", "two", "three"} {
		pieces <- piece
		got += <-taken + ","
	}
	require.Equal(t, "one,two,three,", got)
	close(pieces)
	require.NoError(t, <-ended)
	require.Equal(t, http.StatusOK, resp.Status)
	require.Equal(t, "m", resp.Header["x-mark"])
	require.Empty(t, resp.Body)
}

func TestStreamThatIsNone(t *testing.T) {
	nothing := func([]byte) { panic("there was no stream") }
	get := replica.Request{Method: "GET", Path: "/"}
	t.Run("refused", func(t *testing.T) {
		tr := transport(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "60")
			w.WriteHeader(http.StatusTooManyRequests)
			_, _ = w.Write([]byte("words"))
		})
		resp, err := tr.Stream(context.Background(), get, nothing)
		require.NoError(t, err)
		require.Equal(t, http.StatusTooManyRequests, resp.Status)
		require.Equal(t, "60", resp.Header["retry-after"])
		require.Equal(t, "words", string(resp.Body))
	})
	t.Run("no answer", func(t *testing.T) {
		tr := transport(t, func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) })
		_, err := tr.Stream(context.Background(), get, nothing)
		require.ErrorIs(t, err, replica.ErrOffline)
	})
	t.Run("broken off", func(t *testing.T) {
		tr := transport(t, func(w http.ResponseWriter, _ *http.Request) {
			_, _ = w.Write([]byte("id: "))
			w.(http.Flusher).Flush()
			panic(http.ErrAbortHandler)
		})
		_, err := tr.Stream(context.Background(), get, func([]byte) {})
		require.ErrorIs(t, err, replica.ErrOffline)
	})
	t.Run("given up", func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		tr := transport(t, func(w http.ResponseWriter, r *http.Request) {
			_, _ = w.Write([]byte(":"))
			w.(http.Flusher).Flush()
			<-r.Context().Done()
		})
		_, err := tr.Stream(ctx, get, func([]byte) { cancel() })
		require.ErrorIs(t, err, replica.ErrOffline)
		require.ErrorIs(t, err, context.Canceled)
	})
}
