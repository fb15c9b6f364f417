package auth_test

import (
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/auth"
)

// The key, payload and signature are those of RFC 8037, appendices A.1 and A.4.
func TestPublishedVector(t *testing.T) {
	seed := decode(t, "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A")
	key := ed25519.NewKeyFromSeed(seed)
	require.Equal(t, decode(t, "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"), []byte(key.Public().(ed25519.PublicKey)))

	input := base64.RawURLEncoding.EncodeToString([]byte(`{"alg":"EdDSA"}`)) + "." +
		base64.RawURLEncoding.EncodeToString([]byte("Example of Ed25519 signing"))
	want := decode(t, "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg")

	got, err := jwt.SigningMethodEdDSA.Sign(input, key)
	require.NoError(t, err)
	require.Equal(t, want, got)
	require.NoError(t, jwt.SigningMethodEdDSA.Verify(input, want, key.Public()))
	want[0] ^= 1
	require.Error(t, jwt.SigningMethodEdDSA.Verify(input, want, key.Public()))
}

func decode(t *testing.T, s string) []byte {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	require.NoError(t, err)
	return b
}

// fields are the header and claims of a token before it is signed, which the
// cases below spoil one at a time.
type fields struct {
	method jwt.SigningMethod
	key    any
	header map[string]any
	claims jwt.MapClaims
}

func (w *world) fields() *fields {
	return &fields{
		method: jwt.SigningMethodEdDSA,
		key:    w.key,
		header: map[string]any{"typ": "at+jwt"},
		claims: jwt.MapClaims{
			"iss": "leafturn", "aud": "leafturn-api",
			"sub": w.phone.device.String(), "hh": w.phone.household.String(),
			"iat": epoch.Unix(), "nbf": epoch.Unix(), "exp": epoch.Add(5 * time.Minute).Unix(),
		},
	}
}

func (f *fields) sign(t *testing.T) string {
	t.Helper()
	j := jwt.NewWithClaims(f.method, f.claims)
	for k, v := range f.header {
		j.Header[k] = v
	}
	s, err := j.SignedString(f.key)
	require.NoError(t, err)
	return s
}

// The unspoilt fields make a good token; otherwise the forgeries below could all
// be refused for the same, uninteresting reason.
func TestHandmadeTokenIsGood(t *testing.T) {
	w := newWorld()
	grant, err := w.Check(t.Context(), w.fields().sign(t))
	require.NoError(t, err)
	require.Equal(t, w.phone.household, grant.Household)
	require.Equal(t, w.phone.device, grant.Device)
}

func TestForgedTokens(t *testing.T) {
	const invalid, expired = fault.Code("token_invalid"), fault.Code("token_expired")
	ec, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	cases := []struct {
		name  string
		spoil func(w *world, f *fields)
		want  fault.Code
	}{
		{"alg none", func(_ *world, f *fields) {
			f.method, f.key = jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType
		}, invalid},
		{"HS256 keyed with the public key", func(w *world, f *fields) {
			f.method, f.key = jwt.SigningMethodHS256, []byte(w.key.Public().(ed25519.PublicKey))
		}, invalid},
		{"HS384 keyed with the public key", func(w *world, f *fields) {
			f.method, f.key = jwt.SigningMethodHS384, []byte(w.key.Public().(ed25519.PublicKey))
		}, invalid},
		{"ES256", func(_ *world, f *fields) { f.method, f.key = jwt.SigningMethodES256, ec }, invalid},
		{"wrong audience", func(_ *world, f *fields) { f.claims["aud"] = "another-api" }, invalid},
		{"no audience", func(_ *world, f *fields) { delete(f.claims, "aud") }, invalid},
		{"wrong issuer", func(_ *world, f *fields) { f.claims["iss"] = "somebody" }, invalid},
		{"no issuer", func(_ *world, f *fields) { delete(f.claims, "iss") }, invalid},
		{"no expiry", func(_ *world, f *fields) { delete(f.claims, "exp") }, invalid},
		{"expired", func(_ *world, f *fields) { f.claims["exp"] = epoch.Unix() }, expired},
		{"good for a week", func(_ *world, f *fields) { f.claims["exp"] = epoch.AddDate(0, 0, 7).Unix() }, invalid},
		{"not yet good", func(_ *world, f *fields) { f.claims["nbf"] = epoch.Add(time.Second).Unix() }, invalid},
		{"no start", func(_ *world, f *fields) { delete(f.claims, "nbf") }, invalid},
		{"issued tomorrow", func(_ *world, f *fields) { f.claims["iat"] = epoch.AddDate(0, 0, 1).Unix() }, invalid},
		{"no time of issue", func(_ *world, f *fields) { delete(f.claims, "iat") }, invalid},
		{"foreign key", func(w *world, f *fields) { f.key = w.other.key }, invalid},
		{"foreign key named by kid", func(w *world, f *fields) {
			f.key, f.header["kid"] = w.other.key, "theirs"
		}, invalid},
		{"foreign key named by jku", func(w *world, f *fields) {
			f.key, f.header["jku"] = w.other.key, "https://keys.example/set.json"
		}, invalid},
		{"foreign key carried in jwk", func(w *world, f *fields) {
			f.key = w.other.key
			f.header["jwk"] = map[string]any{"kty": "OKP", "crv": "Ed25519", "x": base64.RawURLEncoding.EncodeToString(w.other.key.Public().(ed25519.PublicKey))}
		}, invalid},
		{"own key with an unknown header", func(_ *world, f *fields) { f.header["kid"] = "1" }, invalid},
		{"another kind of token", func(_ *world, f *fields) { f.header["typ"] = "JWT" }, invalid},
		{"household is no id", func(_ *world, f *fields) { f.claims["hh"] = "x" }, invalid},
		{"device is no id", func(_ *world, f *fields) { f.claims["sub"] = "x" }, invalid},
		{"device of another household", func(w *world, f *fields) {
			f.claims["hh"] = w.other.household.String()
		}, "token_revoked"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld()
			f := w.fields()
			c.spoil(w, f)
			_, err := w.Check(t.Context(), f.sign(t))
			require.Equal(t, c.want, fault.CodeOf(err), "%v", err)
		})
	}
}

func TestDamagedTokens(t *testing.T) {
	w := newWorld()
	good := w.signIn(t).Text
	parts := strings.Split(good, ".")
	var claims map[string]any
	require.NoError(t, json.Unmarshal(decode(t, parts[1]), &claims))
	claims["hh"] = w.other.household.String()
	moved, err := json.Marshal(claims)
	require.NoError(t, err)

	cases := map[string]string{
		"empty":                    "",
		"one part":                 parts[0],
		"no signature":             parts[0] + "." + parts[1] + ".",
		"cut short":                good[:len(good)-1],
		"padded":                   good + "=",
		"moved to other household": parts[0] + "." + base64.RawURLEncoding.EncodeToString(moved) + "." + parts[2],
		"long rubbish":             strings.Repeat("a.", 5000),
	}
	for name, token := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := w.Check(t.Context(), token)
			require.ErrorIs(t, err, auth.ErrTokenInvalid)
		})
	}
}

func TestTokenLife(t *testing.T) {
	w := newWorld()
	token := w.signIn(t).Text
	w.clock.advance(auth.TokenLife - time.Second)
	_, err := w.Check(t.Context(), token)
	require.NoError(t, err)
	w.clock.advance(time.Second)
	_, err = w.Check(t.Context(), token)
	require.ErrorIs(t, err, auth.ErrTokenExpired)
}

// A token is remembered by who made it or read it once. What decides afresh each time decides about a
// remembered one too.
func TestRememberedTokens(t *testing.T) {
	w := newWorld()
	token := w.signIn(t).Text
	first, err := w.Check(t.Context(), token)
	require.NoError(t, err)
	again, err := w.Check(t.Context(), token)
	require.NoError(t, err)
	require.Equal(t, first, again)

	later := auth.New(w.key, w.book, w.clock.now) // which remembers nothing
	read, err := later.Check(t.Context(), token)
	require.NoError(t, err)
	require.True(t, first.Expires.Equal(read.Expires))
	require.Equal(t, []any{first.Household, first.Device}, []any{read.Household, read.Device})

	forged := []byte(token)
	forged[len(forged)-2] ^= 1
	_, err = w.Check(t.Context(), string(forged))
	require.ErrorIs(t, err, auth.ErrTokenInvalid)

	delete(w.book.keys, entry{w.phone.household, w.phone.device})
	_, err = w.Check(t.Context(), token)
	require.ErrorIs(t, err, auth.ErrTokenRevoked)
}

// However many tokens there are, all of them are good, and they do not all stay in
// memory.
func TestMoreTokensThanAreRemembered(t *testing.T) {
	w := newWorld()
	const many, most = 100, 30
	auth.Remember(w.Service, most)
	texts := make([]string, many)
	for i := range texts {
		f := w.fields()
		f.claims["jti"] = strconv.Itoa(i)
		texts[i] = f.sign(t)
	}
	for _, text := range append(texts, texts[0], texts[many-1]) {
		_, err := w.Check(t.Context(), text)
		require.NoError(t, err)
	}
	require.LessOrEqual(t, auth.Remembered(w.Service), most)
}
