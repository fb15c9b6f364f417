package webpush_test

import (
	"crypto/ecdh"
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/notify/webpush"
)

// FuzzCheck feeds hostile subscriptions to what decides whether they are called: those
// that pass are https addresses on the usual port, with a key of the right form.
func FuzzCheck(f *testing.F) {
	browser, err := ecdh.P256().NewPrivateKey(append(make([]byte, 31), 1))
	require.NoError(f, err)
	key := browser.PublicKey().Bytes()
	off := append([]byte{4}, make([]byte, 64)...) // not on the curve
	for _, endpoint := range []string{"https://push.example/1", "https://push.example:443/", "https://push.example:8443/", "http://push.example/", "https://user@push.example/", "https://[::1]/", "https:///x", "//push.example", "", "https://push.example/#x", "HTTPS://push.example/", "https://push.example\x00/"} {
		f.Add(endpoint, key, []byte("sixteen bytes ok"))
		f.Add(endpoint, off, []byte("sixteen bytes ok"))
	}
	f.Add("https://push.example/1", []byte{}, []byte{})
	f.Fuzz(func(t *testing.T, endpoint string, key, secret []byte) {
		if webpush.Public.Check(webpush.Subscription{Endpoint: endpoint, Key: key, Secret: secret}) != nil {
			return
		}
		u, err := url.Parse(endpoint)
		require.NoError(t, err)
		require.Equal(t, "https", u.Scheme)
		require.Contains(t, []string{"", "443"}, u.Port())
		require.NotEmpty(t, u.Hostname())
		require.Nil(t, u.User)
		require.Len(t, key, 65)
		require.Len(t, secret, 16)
	})
}
