package auth_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/auth"
)

// FuzzCheck feeds hostile tokens to their reader: it takes the one that was issued, and
// no other, however it is written.
func FuzzCheck(f *testing.F) {
	w := newWorld()
	c := w.Challenge(w.phone.household, w.phone.device)
	good, err := w.Token(f.Context(), w.phone.prove(c.Text))
	require.NoError(f, err)
	for _, token := range []string{"", good.Text, good.Text + "=", good.Text[:len(good.Text)-1], "e30.e30.", "..", "null.null.null", "eyJhbGciOiJub25lIn0.e30."} {
		f.Add(token)
	}
	f.Fuzz(func(t *testing.T, token string) {
		g, err := w.Check(t.Context(), token)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		require.Equal(t, good.Text, token)
		require.Equal(t, w.phone.device, g.Device)
	})
}

// FuzzProof feeds hostile challenges to their reader: it takes the one that was made for
// the device, once, and no other.
func FuzzProof(f *testing.F) {
	w := newWorld()
	c := w.Challenge(w.phone.household, w.phone.device)
	for _, challenge := range []string{"", c.Text, c.Text + "=", c.Text[1:], "AA", "\n" + c.Text} {
		f.Add(challenge, uint8(0))
		f.Add(challenge, uint8(200))
	}
	f.Fuzz(func(t *testing.T, challenge string, seconds uint8) {
		w.clock.t = epoch.Add(time.Duration(seconds) * time.Second)
		proof := w.phone.prove(challenge)
		_, err := w.Token(t.Context(), proof)
		if err == nil {
			require.Equal(t, c.Text, challenge)
			require.Less(t, w.clock.t, c.Expires)
			_, err = w.Token(t.Context(), proof)
			require.ErrorIs(t, err, auth.ErrChallengeUsed)
			return
		}
		require.NotEmpty(t, fault.CodeOf(err))
	})
}
