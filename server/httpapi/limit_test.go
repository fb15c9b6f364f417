package httpapi

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestClient(t *testing.T) {
	proxies := []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("10.0.0.0/8")}
	cases := []struct {
		name, peer, forwarded, want string
	}{
		{"direct", "192.0.2.7", "", "192.0.2.7"},
		{"stranger who claims to forward", "192.0.2.7", "198.51.100.1", "192.0.2.7"},
		{"behind a proxy", "127.0.0.1", "198.51.100.1", "198.51.100.1"},
		{"behind two proxies", "127.0.0.1", "198.51.100.1, 10.0.0.3", "198.51.100.1"},
		{"made-up first hop", "127.0.0.1", "203.0.113.9, 198.51.100.1", "198.51.100.1"},
		{"proxy that says nothing", "127.0.0.1", "", "127.0.0.1"},
		{"proxy that says rubbish", "127.0.0.1", "somebody", "127.0.0.1"},
		{"one home on IPv6", "2001:db8:1:2:3:4:5:6", "", "2001:db8:1:2::/64"},
		{"IPv4 written as IPv6", "::ffff:192.0.2.7", "", "192.0.2.7"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, clientOf(netip.MustParseAddr(c.peer), c.forwarded, proxies))
		})
	}
}
