package auth_test

import (
	"encoding/base64"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/server/auth"
)

func found() error { return nil }

func TestSetupTokenIsGoodOnce(t *testing.T) {
	c := &clock{epoch}
	s := auth.NewSetup(c.now)
	token, expires := s.Issue(time.Hour)
	require.Equal(t, epoch.Add(time.Hour), expires)
	raw, err := base64.RawURLEncoding.DecodeString(token)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(raw)*8, 128)

	require.NoError(t, s.Spend(token, found))
	require.ErrorIs(t, s.Spend(token, found), auth.ErrSetupUsed)
}

func TestSetupTokenRefused(t *testing.T) {
	c := &clock{epoch}
	s := auth.NewSetup(c.now)
	token, _ := s.Issue(time.Hour)
	never := func() error { t.Fatal("a refused token ran the founding"); return nil }

	require.ErrorIs(t, s.Spend("", never), auth.ErrSetupUnknown)
	require.ErrorIs(t, s.Spend(token+"A", never), auth.ErrSetupUnknown)
	elsewhere, _ := auth.NewSetup(c.now).Issue(time.Hour)
	require.ErrorIs(t, s.Spend(elsewhere, never), auth.ErrSetupUnknown)
	c.advance(time.Hour)
	require.ErrorIs(t, s.Spend(token, never), auth.ErrSetupExpired)
}

func TestSetupTokenSurvivesAFailedFounding(t *testing.T) {
	s := auth.NewSetup((&clock{epoch}).now)
	token, _ := s.Issue(time.Hour)
	broken := errors.New("no room")
	require.ErrorIs(t, s.Spend(token, func() error { return broken }), broken)
	require.Panics(t, func() { _ = s.Spend(token, func() error { panic("bug") }) })
	require.NoError(t, s.Spend(token, found))
}

func TestSetupTokenFoundsOneHouseholdInARace(t *testing.T) {
	s := auth.NewSetup((&clock{epoch}).now)
	token, _ := s.Issue(time.Hour)
	var founded atomic.Int32
	var wg sync.WaitGroup
	for range 50 {
		wg.Go(func() {
			_ = s.Spend(token, func() error { founded.Add(1); return nil })
		})
	}
	wg.Wait()
	require.EqualValues(t, 1, founded.Load())
}
