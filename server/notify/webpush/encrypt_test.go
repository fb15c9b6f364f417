package webpush_test

import (
	"bytes"
	"crypto/ecdh"
	"encoding/base64"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/server/notify/webpush"
	"leafturn/server/notify/webpush/webpushtest"
)

func decode(t *testing.T, s string) []byte {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	require.NoError(t, err)
	return b
}

// The example of RFC 8291, section 5 and appendix A.
const (
	examplePlain   = "When I grow up, I want to be a watermelon"
	exampleSalt    = "DGv6ra1nlYgDCS1FRnbzlw"
	exampleSecret  = "BTBZMqHH6r4Tts7J_aSIgg"
	exampleSender  = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
	exampleBrowser = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
	examplePrivate = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
	exampleBody    = "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6Tlz" +
		"AC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)

func TestExampleOfRFC8291(t *testing.T) {
	sender, err := ecdh.P256().NewPrivateKey(decode(t, exampleSender))
	require.NoError(t, err)
	s := webpush.Subscription{Key: decode(t, exampleBrowser), Secret: decode(t, exampleSecret)}
	body, err := webpush.SealWith(s, []byte(examplePlain), sender, decode(t, exampleSalt), 0)
	require.NoError(t, err)
	require.Len(t, body, 144)
	require.Equal(t, exampleBody, base64.RawURLEncoding.EncodeToString(body))
}

// The browser of the tests reads the published example as well, so it is a witness
// for what it reads elsewhere.
func TestBrowserReadsTheExample(t *testing.T) {
	key, err := ecdh.P256().NewPrivateKey(decode(t, examplePrivate))
	require.NoError(t, err)
	b := webpushtest.Browser{Key: key, Secret: decode(t, exampleSecret)}
	text, err := b.Open(decode(t, exampleBody))
	require.NoError(t, err)
	require.Equal(t, examplePlain, string(text))
}

func TestWhatIsSealedIsReadAndHidesItsLength(t *testing.T) {
	b := webpushtest.NewBrowser(7)
	s := b.Subscription("https://push.example.net/a")
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SliceOfN(rapid.Byte(), 0, webpush.MaxText).Draw(t, "text")
		body, err := webpush.Seal(s, text)
		require.NoError(t, err)
		require.LessOrEqual(t, len(body), 4096)
		if len(text) < webpush.PadTo {
			require.Len(t, body, webpush.PadTo+103)
		}
		got, err := b.Open(body)
		require.NoError(t, err)
		require.True(t, bytes.Equal(text, got))
	})
}

func TestEveryMessageHasItsOwnKeyAndSalt(t *testing.T) {
	s := webpushtest.NewBrowser(7).Subscription("https://push.example.net/a")
	one, err := webpush.Seal(s, []byte("same"))
	require.NoError(t, err)
	two, err := webpush.Seal(s, []byte("same"))
	require.NoError(t, err)
	require.NotEqual(t, one[:16], two[:16])
	require.NotEqual(t, one[21:86], two[21:86])
}

func TestWhatCannotBeSealed(t *testing.T) {
	good := webpushtest.NewBrowser(7).Subscription("https://push.example.net/a")
	offCurve := bytes.Clone(good.Key)
	offCurve[64] ^= 1
	for name, s := range map[string]webpush.Subscription{
		"no key":            {Secret: good.Secret},
		"off the curve":     {Key: offCurve, Secret: good.Secret},
		"point at infinity": {Key: []byte{0}, Secret: good.Secret},
		"short secret":      {Key: good.Key, Secret: good.Secret[:15]},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := webpush.Seal(s, []byte("text"))
			require.Error(t, err)
			s.Endpoint = good.Endpoint
			require.Error(t, webpush.Public.Check(s))
		})
	}
	_, err := webpush.Seal(good, make([]byte, webpush.MaxText+1))
	require.Error(t, err)
	require.NoError(t, webpush.Public.Check(good))
}

func TestADamagedMessageIsNotRead(t *testing.T) {
	b := webpushtest.NewBrowser(7)
	body, err := webpush.Seal(b.Subscription("https://push.example.net/a"), []byte("text"))
	require.NoError(t, err)
	for at := 21; at < len(body); at++ {
		body[at] ^= 1
		_, err = b.Open(body)
		require.Error(t, err, "byte %d", at)
		body[at] ^= 1
	}
	_, err = b.Open(body)
	require.NoError(t, err)
}
