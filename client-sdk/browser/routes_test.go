//go:build !js

package browser_test

import (
	"io"
	"net/http"
	"strings"
)

// transportRoutes answer the tests of the transport.
func (h *harness) transportRoutes(mux *http.ServeMux) {
	mux.HandleFunc("/echo", func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		w.Header().Set("Upload-Offset", "7")
		w.Header().Set("Set-Cookie", "track=1")
		w.WriteHeader(http.StatusTeapot)
		_, _ = w.Write([]byte(strings.Join([]string{r.Method, r.URL.RequestURI(), r.Header.Get("Tus-Resumable"), r.Header.Get("Cookie"), string(body)}, "|")))
	})
	mux.HandleFunc("/broken", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) })
	mux.HandleFunc("/cut", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Length", "100000")
		_, _ = w.Write([]byte("half"))
		panic(http.ErrAbortHandler)
	})
	mux.HandleFunc("/hangs", func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() })
	mux.HandleFunc("/stream", func(w http.ResponseWriter, r *http.Request) {
		// Each piece waits until the one before it has been taken.
		for _, piece := range []string{"one", "two", "three"} {
			_, _ = w.Write([]byte(piece + r.Header.Get("Last-Event-ID")))
			w.(http.Flusher).Flush()
			select {
			case <-h.progress:
			case <-r.Context().Done():
				return
			}
		}
		if r.URL.RawQuery == "broken" {
			panic(http.ErrAbortHandler)
		}
	})
	mux.HandleFunc("/endless", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Length", "1000000000")
		w.WriteHeader(http.StatusOK)
		_, _ = w.Write(make([]byte, 1000))
	})
	mux.HandleFunc("/elsewhere", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/echo", http.StatusFound) })
}
