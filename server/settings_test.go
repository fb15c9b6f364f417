package main

import (
	"bytes"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
)

// environment makes a getenv of NAME=value texts.
func environment(vars ...string) func(string) string {
	m := map[string]string{"HOME": "/home/rosa"}
	for _, v := range vars {
		name, value, _ := strings.Cut(v, "=")
		m[name] = value
	}
	return func(name string) string { return m[name] }
}

func find(t *testing.T, effects []effective, name string) effective {
	t.Helper()
	for _, e := range effects {
		if e.name == name {
			return e
		}
	}
	t.Fatalf("no setting %s", name)
	return effective{}
}

func TestPrecedence(t *testing.T) {
	const env, flag = "LEAFTURN_LISTEN=127.0.0.1:1", "--listen=127.0.0.1:2"
	cases := []struct {
		name  string
		env   []string
		args  []string
		value string
		from  string
	}{
		{"default", nil, nil, "127.0.0.1:8437", "default"},
		{"environment", []string{env}, nil, "127.0.0.1:1", "environment LEAFTURN_LISTEN"},
		{"flag", nil, []string{flag}, "127.0.0.1:2", "flag --listen"},
		{"flag over environment", []string{env}, []string{flag}, "127.0.0.1:2", "flag --listen"},
		{"empty variable is none", []string{"LEAFTURN_LISTEN="}, nil, "127.0.0.1:8437", "default"},
		{"one dash, value apart", nil, []string{"-listen", "127.0.0.1:3"}, "127.0.0.1:3", "flag --listen"},
		{"last flag", nil, []string{flag, "--listen", "[::1]:4"}, "[::1]:4", "flag --listen"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s, effects, err := resolve(c.args, environment(c.env...))
			require.NoError(t, err)
			require.Equal(t, c.value, s.listen)
			require.Equal(t, effective{"listen", c.value, c.from}, find(t, effects, "listen"))
		})
	}
}

func TestValues(t *testing.T) {
	s, _, err := resolve(nil, environment())
	require.NoError(t, err)
	require.Equal(t, "/home/rosa/.local/share/leafturn", s.data)
	require.Equal(t, time.Hour, s.setup)
	require.False(t, s.rebuild)
	require.Empty(t, s.proxies)

	s, _, err = resolve([]string{
		"--public-url", "https://plants.example/", "--setup-minutes", "5", "--rebuild-app",
		"--trusted-proxies", "127.0.0.1, 10.0.0.0/8",
	}, environment("XDG_DATA_HOME=/srv/data"))
	require.NoError(t, err)
	require.Equal(t, "/srv/data/leafturn", s.data)
	require.Equal(t, "https://plants.example", s.publicURL)
	require.Equal(t, 5*time.Minute, s.setup)
	require.True(t, s.rebuild)
	require.Equal(t, []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("10.0.0.0/8")}, s.proxies)

	s, _, err = resolve(nil, environment("XDG_DATA_HOME=relative"))
	require.NoError(t, err)
	require.Equal(t, "/home/rosa/.local/share/leafturn", s.data)
}

func TestRefusedSettings(t *testing.T) {
	cases := []struct {
		name string
		env  []string
		args []string
		code fault.Code
		says []string
	}{
		{"unknown flag", nil, []string{"--nosuch"}, "flag_unknown", []string{"-nosuch", "help"}},
		{"flag without its value", nil, []string{"--data"}, "flag_unknown", []string{"-data"}},
		{"stray word", nil, []string{"--data", "/x", "serve"}, "argument_unknown", []string{`"serve"`}},
		{"listen without a port", nil, []string{"--listen", "localhost"}, "setting_invalid", []string{"--listen", `"localhost"`, "port"}},
		{"listen with a large port", nil, []string{"--listen", "localhost:65536"}, "setting_invalid", []string{"65535"}},
		{"listen with a word for a port", nil, []string{"--listen", "localhost:www"}, "setting_invalid", []string{"port"}},
		{"from the environment", []string{"LEAFTURN_SETUP_MINUTES=soon"}, nil, "setting_invalid", []string{"LEAFTURN_SETUP_MINUTES", `"soon"`}},
		{"no minutes", nil, []string{"--setup-minutes", "0"}, "setting_invalid", []string{"1 to 10080"}},
		{"minutes of a month", nil, []string{"--setup-minutes", "43200"}, "setting_invalid", []string{"1 to 10080"}},
		{"level", nil, []string{"--log-level", "loud"}, "setting_invalid", []string{"debug, info, warn or error"}},
		{"switch", nil, []string{"--rebuild-app=perhaps"}, "setting_invalid", []string{"true or false"}},
		{"URL without a scheme", nil, []string{"--public-url", "plants.example"}, "setting_invalid", []string{"https://"}},
		{"URL with a path", nil, []string{"--public-url", "https://plants.example/leaf"}, "setting_invalid", []string{"without a path"}},
		{"URL of another kind", nil, []string{"--public-url", "ftp://plants.example"}, "setting_invalid", []string{"https://"}},
		{"proxy", nil, []string{"--trusted-proxies", "gateway"}, "setting_invalid", []string{"networks"}},
		{"no data folder", nil, []string{"--data", ""}, "setting_invalid", []string{"--data", "folder"}},
		{"no home", []string{"HOME="}, nil, "setting_invalid", []string{"--data", "folder"}},
		{"photo space", nil, []string{"--photo-space", "0"}, "setting_invalid", []string{"from 1 up"}},
		{"sign-ins", nil, []string{"--sign-ins-per-minute", "-1"}, "setting_invalid", []string{"from 1 up"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := resolve(c.args, environment(c.env...))
			f, ok := fault.From(err)
			require.True(t, ok, "%v", err)
			require.Equal(t, c.code, f.Code)
			require.NotContains(t, f.Words, "\n")
			for _, s := range c.says {
				require.Contains(t, f.Words, s)
			}
		})
	}
}

func TestEverySettingIsExplained(t *testing.T) {
	var out bytes.Buffer
	p := &program{getenv: environment(), out: &out}
	p.help()
	seen := map[string]bool{}
	for _, s := range table {
		require.False(t, seen[s.name], s.name)
		seen[s.name] = true
		require.NotEmpty(t, s.help, s.name)
		require.Contains(t, out.String(), "--"+s.name)
		require.Contains(t, out.String(), s.env())
	}
}

func TestEnvironmentNames(t *testing.T) {
	require.Equal(t, "LEAFTURN_SETUP_MINUTES", setting{name: "setup-minutes"}.env())
}
