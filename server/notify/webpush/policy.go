package webpush

import (
	"crypto/tls"
	"errors"
	"net/netip"
	"net/url"
	"slices"
)

// ErrForbidden is returned for an endpoint that this server must not call.
var ErrForbidden = errors.New("this server does not call that address")

// Policy says which endpoints may be called. Both questions are asked before every
// message: the first about the text, the second about the address it leads to.
type Policy struct {
	Endpoint func(*url.URL) error
	Address  func(netip.AddrPort) error
	TLS      *tls.Config // nil for the usual trust
}

// Public allows what a real push service has: an https address on the usual port,
// at an address of the public internet. Without it, a phone could make this server
// call machines in the home it stands in.
var Public = Policy{Endpoint: publicEndpoint, Address: publicAddress}

// maxEndpoint is how long an endpoint may be.
const maxEndpoint = 2048

func publicEndpoint(u *url.URL) error {
	if u.Scheme != "https" || u.Port() != "" && u.Port() != "443" {
		return ErrForbidden
	}
	return nil
}

// Check reports whether a subscription can be used at all.
func (p Policy) Check(s Subscription) error {
	if _, err := p.endpoint(s.Endpoint); err != nil {
		return err
	}
	_, err := s.browserKey()
	return err
}

func (p Policy) endpoint(text string) (*url.URL, error) {
	if len(text) > maxEndpoint {
		return nil, ErrForbidden
	}
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" || u.User != nil || u.Fragment != "" {
		return nil, ErrForbidden
	}
	if err := p.Endpoint(u); err != nil {
		return nil, err
	}
	return u, nil
}

// notPublic are the networks that netip does not tell apart from public ones, from
// IANA's registries of special-purpose addresses, from memory. What embeds an
// address of IPv4 is among them.
var notPublic = prefixes(
	"0.0.0.0/8", "100.64.0.0/10", "192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24", "198.18.0.0/15",
	"198.51.100.0/24", "203.0.113.0/24", "240.0.0.0/4",
	"2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20",
)

// globalIPv6 is the only part of IPv6 that is given out to the public.
var globalIPv6 = netip.MustParsePrefix("2000::/3")

func prefixes(texts ...string) []netip.Prefix {
	all := make([]netip.Prefix, len(texts))
	for i, text := range texts {
		all[i] = netip.MustParsePrefix(text)
	}
	return all
}

func publicAddress(at netip.AddrPort) error {
	a := at.Addr().Unmap()
	switch {
	case at.Port() != 443, a.Zone() != "", !a.IsGlobalUnicast(), a.IsPrivate(), a.Is6() && !globalIPv6.Contains(a):
		return ErrForbidden
	case slices.ContainsFunc(notPublic, func(p netip.Prefix) bool { return p.Contains(a) }):
		return ErrForbidden
	}
	return nil
}
