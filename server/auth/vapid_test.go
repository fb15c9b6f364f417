package auth_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/server/auth"
)

// readStatement checks a header as a push service does by RFC 8292: with nothing but
// a hash, a curve and JSON, so that no library is its own witness.
func readStatement(t *testing.T, header string) map[string]any {
	t.Helper()
	params, ok := strings.CutPrefix(header, "vapid ")
	require.True(t, ok)
	fields := map[string]string{}
	for _, p := range strings.Split(params, ",") {
		name, value, ok := strings.Cut(strings.TrimSpace(p), "=")
		require.True(t, ok)
		fields[name] = value
	}
	require.Len(t, fields, 2)
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), unbase64(t, fields["k"]))
	require.NoError(t, err)
	parts := strings.Split(fields["t"], ".")
	require.Len(t, parts, 3)
	var head, claims map[string]any
	require.NoError(t, json.Unmarshal(unbase64(t, parts[0]), &head))
	require.Equal(t, map[string]any{"typ": "JWT", "alg": "ES256"}, head)
	signature := unbase64(t, parts[2])
	require.Len(t, signature, 64)
	sum := sha256.Sum256([]byte(parts[0] + "." + parts[1]))
	r, s := new(big.Int).SetBytes(signature[:32]), new(big.Int).SetBytes(signature[32:])
	require.True(t, ecdsa.Verify(key, sum[:], r, s), "the signature is wrong")
	require.NoError(t, json.Unmarshal(unbase64(t, parts[1]), &claims))
	return claims
}

func unbase64(t *testing.T, s string) []byte {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	require.NoError(t, err)
	return b
}

// The example of RFC 8292, section 2.4. Its private key is not printed, so it shows
// that statements are read here as the RFC writes them; those of this server are
// then read the same way.
func TestExampleOfRFC8292(t *testing.T) {
	claims := readStatement(t, "vapid "+
		"t=eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6"+
		"Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0.i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA, "+
		"k=BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs")
	require.Equal(t, map[string]any{"aud": "https://push.example.net", "exp": 1453523768.0, "sub": "mailto:push@example.com"}, claims)
}

func TestStatements(t *testing.T) {
	name := filepath.Join(t.TempDir(), "push.key")
	now := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	clock := func() time.Time { return now }
	k, err := auth.LoadSenderKey(name, "https://leafturn.example.org", clock)
	require.NoError(t, err)
	header, err := k.Header("https://push.example.net")
	require.NoError(t, err)
	claims := readStatement(t, header)
	require.Equal(t, map[string]any{
		"aud": "https://push.example.net",
		"exp": float64(now.Add(12 * time.Hour).Unix()),
		"sub": "https://leafturn.example.org",
	}, claims)
	require.Contains(t, header, "k="+k.Public())

	k, err = auth.LoadSenderKey(name, "", clock)
	require.NoError(t, err)
	header, err = k.Header("https://push.example.net")
	require.NoError(t, err)
	require.NotContains(t, readStatement(t, header), "sub", "who has no contact names none")
}

func TestSenderKeyIsMadeOnceAndPrivate(t *testing.T) {
	name := filepath.Join(t.TempDir(), "push.key")
	first, err := auth.LoadSenderKey(name, "", time.Now)
	require.NoError(t, err)
	require.NoError(t, os.Chmod(name, 0o644))
	again, err := auth.LoadSenderKey(name, "", time.Now)
	require.NoError(t, err)
	require.Equal(t, first.Public(), again.Public())
	info, err := os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "a key that others could read is closed again")
	require.EqualValues(t, 32, info.Size())
	entries, err := os.ReadDir(filepath.Dir(name))
	require.NoError(t, err)
	require.Len(t, entries, 1, "no half-written file stays behind")
}

func TestDamagedSenderKeyIsRefusedAndKept(t *testing.T) {
	for what, bytes := range map[string][]byte{"short": []byte("short"), "zero": make([]byte, 32)} {
		name := filepath.Join(t.TempDir(), "push.key")
		require.NoError(t, os.WriteFile(name, bytes, 0o600))
		_, err := auth.LoadSenderKey(name, "", time.Now)
		require.ErrorContains(t, err, "is damaged", what)
		kept, err := os.ReadFile(name)
		require.NoError(t, err)
		require.Equal(t, bytes, kept, what)
	}
}
