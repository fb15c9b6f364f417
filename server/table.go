package main

import (
	"errors"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"leafturn/photo"
	"leafturn/server/httpapi"
)

// table is every setting there is.
var table = []setting{
	{"data", "DIR", "where everything is kept", dataHome, func(s *settings, v string) error { return folder(&s.data, v) }},
	{"listen", "HOST:PORT", "the address to listen on; port 0 takes any free one", always("127.0.0.1:8437"), setListen},
	{"public-url", "URL", "the address phones use, if a proxy with https stands in front", always(""), setPublicURL},
	{"trusted-proxies", "LIST", "networks of proxies whose X-Forwarded-For is believed, with commas between", always(""), setProxies},
	{"setup-minutes", "N", "how long the set-up link is good", always("60"), setSetup},
	{"sign-ins-per-minute", "N", "how many sign-in requests one address may make", always(strconv.Itoa(httpapi.DefaultSignIn)), setSignIns},
	{"photo-space", "MB", "how much the photos of one household may take", always(strconv.FormatInt(photo.DefaultLimits().Quota>>20, 10)), setPhotoSpace},
	{"cache", "DIR", "where the built phone app is kept", cacheHome, func(s *settings, v string) error { return folder(&s.cache, v) }},
	{"rebuild-app", "", "build the phone app again although it is built already", always("false"), setRebuild},
	{"app", "DIR", "serve the phone app from this folder, which is laid out like client-sdk/web (for development)", always(""), func(s *settings, v string) error { s.app = v; return nil }},
	{"into", "DIR", "where build-app puts the phone app; without it, where the program is linked from", always(""), func(s *settings, v string) error { s.into = v; return nil }},
	{"log-level", "LEVEL", "debug, info, warn or error", always("info"), setLog},
}

func always(v string) func(func(string) string) string {
	return func(func(string) string) string { return v }
}

// dataHome follows the XDG base directory specification, which says to ignore a
// relative path.
func dataHome(getenv func(string) string) string {
	if xdg := getenv("XDG_DATA_HOME"); filepath.IsAbs(xdg) {
		return filepath.Join(xdg, "leafturn")
	}
	if home := getenv("HOME"); home != "" {
		return filepath.Join(home, ".local", "share", "leafturn")
	}
	return ""
}

func cacheHome(func(string) string) string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return filepath.Join(os.TempDir(), "leafturn-cache")
	}
	return filepath.Join(dir, "leafturn")
}

func folder(into *string, v string) error {
	if v == "" {
		return errors.New("must name a folder")
	}
	abs, err := filepath.Abs(v)
	*into = abs
	return err
}

func setListen(s *settings, v string) error {
	_, port, err := net.SplitHostPort(v)
	if err != nil {
		return errors.New("must be a host and a port, such as 127.0.0.1:8437")
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		return errors.New("must end in a port from 0 to 65535")
	}
	s.listen = v
	return nil
}

func setPublicURL(s *settings, v string) error {
	if v == "" {
		return nil
	}
	u, err := url.Parse(v)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" ||
		strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return errors.New("must be an address such as https://plants.example, without a path")
	}
	s.publicURL = u.Scheme + "://" + u.Host
	return nil
}

func setProxies(s *settings, v string) error {
	for part := range strings.SplitSeq(v, ",") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		p, err := netip.ParsePrefix(part)
		if err != nil {
			addr, err := netip.ParseAddr(part)
			if err != nil {
				return errors.New("must list addresses or networks, such as 127.0.0.1,10.0.0.0/8")
			}
			p = netip.PrefixFrom(addr, addr.BitLen())
		}
		s.proxies = append(s.proxies, p)
	}
	return nil
}

func setSetup(s *settings, v string) error {
	const week = 7 * 24 * 60
	n, err := strconv.Atoi(v)
	if err != nil || n < 1 || n > week {
		return errors.New("must be a number of minutes from 1 to " + strconv.Itoa(week))
	}
	s.setup = time.Duration(n) * time.Minute
	return nil
}

func setSignIns(s *settings, v string) error {
	n, err := strconv.Atoi(v)
	if err != nil || n < 1 {
		return errors.New("must be a number from 1 up")
	}
	s.signIns = n
	return nil
}

func setPhotoSpace(s *settings, v string) error {
	n, err := strconv.ParseInt(v, 10, 32)
	if err != nil || n < 1 {
		return errors.New("must be a number of megabytes from 1 up")
	}
	s.photoSpace = n << 20
	return nil
}

func setRebuild(s *settings, v string) (err error) {
	if s.rebuild, err = strconv.ParseBool(v); err != nil {
		return errors.New("must be true or false")
	}
	return nil
}

func setLog(s *settings, v string) error {
	levels := map[string]slog.Level{"debug": slog.LevelDebug, "info": slog.LevelInfo, "warn": slog.LevelWarn, "error": slog.LevelError}
	level, ok := levels[strings.ToLower(v)]
	if !ok {
		return errors.New("must be debug, info, warn or error")
	}
	s.log = level
	return nil
}
