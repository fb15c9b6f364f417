package main

import (
	"errors"
	"fmt"
	"net"
	"os"
	"syscall"

	"leafturn/model/fault"
)

// listen takes the address or says in one sentence why it cannot.
func listen(address string) (net.Listener, error) {
	ln, err := net.Listen("tcp", address)
	if err == nil {
		return ln, nil
	}
	return nil, fault.New("listen_failed", listenWords(address, err)).Because(err)
}

func listenWords(address string, err error) string {
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return fmt.Sprintf("Another program already listens on %s; end that one, or choose another address with --listen.", address)
	case errors.Is(err, os.ErrPermission):
		return fmt.Sprintf("Leafturn may not listen on %s; choose a port above 1023 with --listen.", address)
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		return fmt.Sprintf("This machine does not have the address %s; choose another with --listen.", address)
	}
	return fmt.Sprintf("Leafturn cannot listen on %s (%v); choose another address with --listen.", address, errors.Unwrap(err))
}

// urlOf is where a browser finds the listener. A server that listens everywhere is
// found at this machine's address in the home network.
func urlOf(addr *net.TCPAddr, own func() ([]net.Addr, error)) string {
	ip := addr.IP
	if ip.IsUnspecified() {
		ip = homeAddress(own)
	}
	return "http://" + (&net.TCPAddr{IP: ip, Port: addr.Port, Zone: addr.Zone}).String()
}

func homeAddress(own func() ([]net.Addr, error)) net.IP {
	addrs, _ := own() // without a network there is still the machine itself
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsPrivate() && n.IP.To4() != nil {
			return n.IP
		}
	}
	return net.IPv4(127, 0, 0, 1)
}
