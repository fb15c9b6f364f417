package httpapi

import (
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
)

// limiter counts the requests of each client within one minute, the same minute
// for all. When it is over, all counts are dropped at once, so the table is never
// larger than the requests of a minute.
type limiter struct {
	perMinute int
	now       func() time.Time

	mu   sync.Mutex
	ends time.Time      // guarded by mu
	hits map[string]int // guarded by mu
}

// hit counts one request and reports how long the client has to wait, 0 if it may
// go on.
func (l *limiter) hit(client string) time.Duration {
	now := l.now()
	l.mu.Lock()
	defer l.mu.Unlock()
	if !now.Before(l.ends) {
		l.ends = now.Add(time.Minute)
		l.hits = map[string]int{}
	}
	l.hits[client]++
	if l.hits[client] <= l.perMinute {
		return 0
	}
	return l.ends.Sub(now)
}

// limit lets one client make so many requests in a minute.
func (s *server) limit(perMinute int, now func() time.Time) fiber.Handler {
	l := &limiter{perMinute: perMinute, now: now}
	return func(c *fiber.Ctx) error {
		wait := l.hit(s.client(c))
		if wait == 0 {
			return c.Next()
		}
		seconds := (wait + time.Second - 1) / time.Second
		c.Set(fiber.HeaderRetryAfter, strconv.Itoa(int(seconds)))
		return errTooOften
	}
}

// client is the address that a request counts for.
func (s *server) client(c *fiber.Ctx) string {
	peer, _ := netip.AddrFromSlice(c.Context().RemoteIP())
	return clientOf(peer, c.Get(fiber.HeaderXForwardedFor), s.proxies)
}

// clientOf takes a trusted proxy's word from the right, where the last proxy
// wrote; what is further left, the client may have made up. An address of IPv6
// stands for its network, because one home has the whole of it.
func clientOf(peer netip.Addr, forwarded string, proxies []netip.Prefix) string {
	peer = peer.Unmap()
	hops := strings.Split(forwarded, ",")
	for i := len(hops) - 1; i >= 0 && anyContains(proxies, peer); i-- {
		hop, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			break
		}
		peer = hop.Unmap()
	}
	if peer.Is6() {
		network, _ := peer.WithZone("").Prefix(64)
		return network.String()
	}
	return peer.String()
}

func anyContains(networks []netip.Prefix, addr netip.Addr) bool {
	return slices.ContainsFunc(networks, func(p netip.Prefix) bool { return p.Contains(addr) })
}
