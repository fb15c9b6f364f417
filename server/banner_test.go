package main

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"net"
	"regexp"
	"strings"
	"testing"
	"time"

	go_qr "github.com/piglig/go-qr"
	"github.com/stretchr/testify/require"
)

var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

// picture reads the half blocks back as a terminal would show them, four pixels
// to a module.
func picture(text string) image.Image {
	const scale = 4
	lines := strings.Split(strings.TrimSuffix(escapes.ReplaceAllString(text, ""), "\n"), "\n")
	width := len([]rune(lines[0]))
	img := image.NewGray(image.Rect(0, 0, width*scale, len(lines)*2*scale))
	for i, line := range lines {
		for x, r := range []rune(line) {
			light := [2]bool{r == '█' || r == '▀', r == '█' || r == '▄'}
			for p := range 2 * scale * scale {
				if light[p/(scale*scale)] {
					img.SetGray(x*scale+p%scale, i*2*scale+p/scale, color.Gray{Y: 255})
				}
			}
		}
	}
	return img
}

func TestQRCanBeReadBack(t *testing.T) {
	const link = "http://127.0.0.1:8437/#setup=q0jk3Vb2mJtQm0m1Zr8n5cXw9fE"
	for _, colour := range []bool{false, true} {
		text, err := qrText(link, colour)
		require.NoError(t, err)
		require.Equal(t, colour, strings.Contains(text, "\x1b["))
		got, err := go_qr.Decode(picture(text))
		require.NoError(t, err)
		require.Equal(t, link, got)
	}
}

func TestQRHasItsQuietZone(t *testing.T) {
	text, err := qrText("http://127.0.0.1:8437/", false)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	width := len([]rune(lines[0]))
	require.LessOrEqual(t, width, 80, "it fits a terminal")
	for _, line := range lines {
		require.Len(t, []rune(line), width)
		require.True(t, strings.HasPrefix(line, "████") || strings.HasPrefix(line, "▀▀▀▀"))
		require.True(t, strings.HasSuffix(line, "████") || strings.HasSuffix(line, "▀▀▀▀"))
	}
	require.Equal(t, strings.Repeat("█", width), lines[0])
	require.Equal(t, strings.Repeat("█", width), lines[1])
}

func TestBanner(t *testing.T) {
	cases := []struct {
		name, url string
		says      string
	}{
		{"own machine", "http://127.0.0.1:8437", "Other phones cannot reach this address. Three ways"},
		{"own machine by name", "http://localhost:8437", "Other phones cannot reach"},
		{"own machine on IPv6", "http://[::1]:8437", "Other phones cannot reach"},
		{"home network", "http://192.168.1.5:8437", "Over plain http"},
		{"https", "https://plants.example", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var out bytes.Buffer
			b := banner{data: "/srv/leafturn", url: c.url, token: "abc", expires: time.Date(2026, 3, 14, 10, 5, 0, 0, time.UTC)}
			require.NoError(t, b.print(&out))
			require.Contains(t, out.String(), "/srv/leafturn")
			require.Contains(t, out.String(), c.url+"/#setup=abc")
			require.Contains(t, out.String(), "Sat 10:05")
			require.Contains(t, out.String(), c.says)
			if c.says == "" {
				require.NotContains(t, out.String(), "https in front")
			}
		})
	}
}

func TestURLOf(t *testing.T) {
	own := func() ([]net.Addr, error) {
		return []net.Addr{
			&net.IPNet{IP: net.IPv4(127, 0, 0, 1)}, &net.IPNet{IP: net.ParseIP("fd00::5")},
			&net.IPNet{IP: net.IPv4(203, 0, 113, 4)}, &net.IPNet{IP: net.IPv4(192, 168, 1, 5)},
		}, nil
	}
	none := func() ([]net.Addr, error) { return nil, errors.New("no network") }
	everywhere := &net.TCPAddr{IP: net.IPv6unspecified, Port: 8437}
	require.Equal(t, "http://192.168.1.5:8437", urlOf(everywhere, own))
	require.Equal(t, "http://127.0.0.1:8437", urlOf(everywhere, none))
	require.Equal(t, "http://[::1]:80", urlOf(&net.TCPAddr{IP: net.IPv6loopback, Port: 80}, own))
}
