package main

import (
	"fmt"
	"io"
	"net"
	"net/url"
	"strings"
	"time"
)

// banner is what a person sees when the server is ready.
type banner struct {
	data    string
	url     string // without a slash at the end
	token   string // of the set-up link
	expires time.Time
	colour  bool
}

func (b banner) print(w io.Writer) error {
	link := b.url + "/#setup=" + b.token
	code, err := qrText(link, b.colour)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "\nLeafturn is running.\n  Data    %s\n  Address %s/\n\n%s\n", b.data, b.url, code)
	fmt.Fprintf(w, "Set-up link, good once and until %s:\n  %s\n\n", b.expires.Format("Mon 15:04"), link)
	if note := b.reach(); note != "" {
		fmt.Fprintln(w, note)
	}
	fmt.Fprintln(w, "Ctrl-C ends it.")
	return nil
}

// reach says in one line what stands between this address and other phones.
func (b banner) reach() string {
	u, err := url.Parse(b.url)
	if err != nil || u.Scheme == "https" {
		return ""
	}
	if isLoopback(u.Hostname()) {
		return "Other phones cannot reach this address. Three ways: (1) https in front, under a name of your own, and --public-url https://…; " +
			"(2) the same with your own certificate authority, trusted on each phone; " +
			"(3) --listen 0.0.0.0:8437, but without installing, offline start and camera."
	}
	return "Over plain http, phones can neither install the app nor start it offline nor use the camera in it; " +
		"put https in front and name it with --public-url https://…."
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback() || host == "localhost" || strings.HasSuffix(host, ".localhost")
}
