package httpapi_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/household/phonetest"
	"leafturn/server/notify/webpush/webpushtest"
	"leafturn/server/store"
)

// send sends a request as a device, or as nobody without a token.
func (r *rig) ask(method, path, token, body string) (int, http.Header, string) {
	r.t.Helper()
	q, err := http.NewRequest(method, r.url+path, bytes.NewReader([]byte(body)))
	require.NoError(r.t, err)
	if token != "" {
		q.Header.Set("Authorization", "Bearer "+token)
	}
	q.Header.Set("Content-Type", "application/json")
	status, header, answer := r.send(q)
	return status, header, string(answer)
}

func householdPath(p *phonetest.Phone, rest string) string {
	return "/api/v1/households/" + p.Household().String() + rest
}

// subscription is what a browser would say.
func subscription(endpoint string) string {
	s := webpushtest.NewBrowser(1).Subscription(endpoint)
	b64 := base64.RawURLEncoding.EncodeToString
	return `{"endpoint":"` + s.Endpoint + `","expirationTime":null,"keys":{"p256dh":"` + b64(s.Key) + `","auth":"` + b64(s.Secret) + `"}}`
}

func (r *rig) phones(p *phonetest.Phone) []store.Phone {
	r.t.Helper()
	phones, err := r.db.Phones(r.t.Context(), p.Household())
	require.NoError(r.t, err)
	return phones
}

func TestSubscribe(t *testing.T) {
	r := newRig(t)
	p := r.founded(2)
	token, path := r.token(p), householdPath(p, "/push")
	status, header, _ := r.ask("POST", path, token, subscription("https://push.example.net/a"))
	require.Equal(t, http.StatusNoContent, status)
	require.Equal(t, "no-store", header.Get("Cache-Control"))
	require.Len(t, r.phones(p), 1)
	require.Equal(t, p.Device(), r.phones(p)[0].Device)
	require.Equal(t, "https://push.example.net/a", r.phones(p)[0].Endpoint)

	status, _, _ = r.ask("DELETE", path, token, "")
	require.Equal(t, http.StatusNoContent, status)
	require.Empty(t, r.phones(p))
	status, _, _ = r.ask("DELETE", path, token, "")
	require.Equal(t, http.StatusNoContent, status, "twice")
}

func TestSubscriptionsThatAreRefused(t *testing.T) {
	r := newRig(t)
	p := r.founded(2)
	token, path := r.token(p), householdPath(p, "/push")
	good := subscription("https://push.example.net/a")
	for name, c := range map[string]struct{ body, code string }{
		"nothing":          {"", "request_invalid"},
		"no subscription":  {"{}", "subscription_invalid"},
		"at home":          {subscription("http://127.0.0.1/a"), "subscription_invalid"},
		"another port":     {subscription("https://push.example.net:8443/a"), "subscription_invalid"},
		"a key that isn't": {strings.Replace(good, `"p256dh":"B`, `"p256dh":"A`, 1), "subscription_invalid"},
		"no base64":        {strings.Replace(good, `"auth":"`, `"auth":"+/`, 1), "request_invalid"},
	} {
		t.Run(name, func(t *testing.T) {
			status, _, answer := r.ask("POST", path, token, c.body)
			require.Equal(t, http.StatusBadRequest, status)
			require.Contains(t, answer, c.code)
		})
	}
	require.Empty(t, r.phones(p))
}

// Every route of a household is for its devices; for others it does not exist.
func TestRemindersAreForTheHousehold(t *testing.T) {
	r := newRig(t)
	p, other := r.founded(2), r.founded(3)
	for _, method := range []string{"POST", "DELETE"} {
		for _, rest := range []string{"/push", "/feed"} {
			status, _, answer := r.ask(method, householdPath(p, rest), "", subscription("https://push.example.net/a"))
			require.Equal(t, http.StatusUnauthorized, status, method+rest)
			require.Contains(t, answer, "token_missing")
			status, _, answer = r.ask(method, householdPath(p, rest), r.token(other), subscription("https://push.example.net/a"))
			require.Equal(t, http.StatusNotFound, status, method+rest)
			require.Contains(t, answer, "household_unknown")
		}
	}
	require.Empty(t, r.phones(p))
	require.Empty(t, r.phones(other))
}

// openFeed gives the path of a new feed.
func (r *rig) openFeed(p *phonetest.Phone) string {
	r.t.Helper()
	status, header, answer := r.ask("POST", householdPath(p, "/feed"), r.token(p), "")
	require.Equal(r.t, http.StatusOK, status, answer)
	require.Equal(r.t, "no-store", header.Get("Cache-Control"))
	var out struct{ Path string }
	require.NoError(r.t, json.Unmarshal([]byte(answer), &out))
	require.Regexp(r.t, `^/api/v1/feed/[A-Za-z0-9_-]{43}\.ics$`, out.Path)
	return out.Path
}

func TestFeed(t *testing.T) {
	r := newRig(t)
	p := r.founded(2)
	path := r.openFeed(p)
	status, header, body := r.ask("GET", path, "", "")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "text/calendar; charset=utf-8", header.Get("Content-Type"))
	require.Equal(t, "no-store", header.Get("Cache-Control"))
	require.True(t, strings.HasPrefix(body, "BEGIN:VCALENDAR\r\n"))

	unknown := "/api/v1/feed/" + strings.Repeat("A", 43) + ".ics"
	_, _, want := r.ask("GET", unknown, "", "")
	gone := func(path string) {
		t.Helper()
		status, header, answer := r.ask("GET", path, "", "")
		require.Equal(t, http.StatusNotFound, status)
		require.Equal(t, "no-store", header.Get("Cache-Control"))
		require.Equal(t, want, answer, "what is closed answers like what never was")
	}
	gone(unknown)
	gone("/api/v1/feed/")
	gone("/api/v1/feed/.ics")
	gone(strings.TrimSuffix(path, ".ics"))
	gone("/api/v1/never-was")

	next := r.openFeed(p)
	gone(path)
	status, _, _ = r.ask("GET", next, "", "")
	require.Equal(t, http.StatusOK, status)
	status, _, _ = r.ask("DELETE", householdPath(p, "/feed"), r.token(p), "")
	require.Equal(t, http.StatusNoContent, status)
	gone(next)

	for _, opened := range []string{path, next} {
		secret := strings.TrimSuffix(strings.TrimPrefix(opened, "/api/v1/feed/"), ".ics")
		require.NotContains(t, r.log.String(), secret, "a secret is in the log")
	}
	require.Contains(t, r.log.String(), "path=/api/v1/feed/ ", "requests are logged all the same")
}
