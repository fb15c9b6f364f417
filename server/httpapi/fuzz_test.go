package httpapi_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// FuzzBodies sends hostile bodies to every address that takes one, from strangers and
// from a member: each is refused in words or taken, and none is an error of the server's
// own.
func FuzzBodies(f *testing.F) {
	r := newRig(f)
	mira := r.founded(1)
	home, token := "/api/v1/households/"+mira.Household().String(), r.token(mira)
	paths := []string{"/api/v1/found", "/api/v1/join", exchangePath(mira), "/api/v1/auth/challenge", "/api/v1/auth/token", home + "/push"}
	look := r.encode(mira.Message(mira.Look(f, 1)))
	who := `{"household":"` + mira.Household().String() + `","device":"` + mira.Device().String() + `"`
	for path, bodies := range map[uint8][]string{
		0: {string(r.founding("x", mira.Introduction())), "\xa2\x01\x61x\x02\x41\x00"}, 1: {string(look), string(r.encode(mira.Introduction()))}, 2: {string(look), "\xa1\x01\x01"},
		3: {who + "}", "{}", "null"}, 4: {who + `,"challenge":"AA","signature":"AA"}`, "[]"},
		5: {`{"endpoint":"https://push.example/1","keys":{"p256dh":"AA","auth":"AA"}}`, `{"endpoint":"http://[::1]/","keys":{}}`},
	} {
		for _, body := range bodies {
			f.Add(path, []byte(body))
		}
	}
	sent := 0
	f.Fuzz(func(t *testing.T, which uint8, body []byte) {
		r.t = t
		if sent++; sent%500 == 0 { // before too many were sent in a minute
			r.clock.advance(time.Minute)
			token = r.token(mira)
		}
		status, _, answer := r.post(call{path: paths[int(which)%len(paths)], token: token, body: body})
		require.Less(t, status, http.StatusInternalServerError, "%s", answer)
		if status >= http.StatusBadRequest {
			var said struct{ Code, Words string }
			require.NoError(t, json.Unmarshal(answer, &said))
			require.NotEmpty(t, said.Code)
			require.NotEmpty(t, said.Words)
		}
	})
}
