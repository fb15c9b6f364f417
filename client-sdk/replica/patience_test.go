package replica_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model/fault"
)

// busy is a way to a server that refuses when a test says so.
type busy struct {
	replica.Transport
	answer *replica.Response // nil lets requests through
	asked  int
}

func (b *busy) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	b.asked++
	if b.answer != nil {
		return b.answer, nil
	}
	return b.Transport.Do(ctx, r)
}

func refusing(status int, header map[string]string) *replica.Response {
	return &replica.Response{Status: status, Header: header, Body: []byte(`{"code":"busy","words":"The server is busy."}`)}
}

// A phone does not ask a server again before the time that the server has said, and
// says meanwhile what the server had said.
func TestAPhoneComesBackWhenTheServerSays(t *testing.T) {
	const date = "Sat, 14 Mar 2026 12:00:00 GMT"
	for name, test := range map[string]struct {
		status int
		header map[string]string
		wait   int64 // milliseconds
	}{
		"busy, in seconds":             {503, map[string]string{"retry-after": "60"}, 60_000},
		"too often":                    {429, map[string]string{"retry-after": "7"}, 7_000},
		"until a time":                 {503, map[string]string{"retry-after": "Sat, 14 Mar 2026 12:01:30 GMT", "date": date}, 90_000},
		"until a time that is no more": {503, map[string]string{"retry-after": "Sat, 14 Mar 2026 11:00:00 GMT", "date": date}, 0},
		"until a time, undated":        {503, map[string]string{"retry-after": date}, 0},
		"for a day":                    {503, map[string]string{"retry-after": "86400"}, 300_000},
		"until next year":              {429, map[string]string{"retry-after": "Sun, 14 Mar 2027 12:00:00 GMT", "date": date}, 300_000},
		"less than nothing":            {503, map[string]string{"retry-after": "-5"}, 0},
		"in nonsense":                  {503, map[string]string{"retry-after": "soon"}, 0},
		"without a word":               {503, nil, 0},
		"not for being busy":           {500, map[string]string{"retry-after": "60"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s, c, a, _ := pair(t)
			b := &busy{Transport: s, answer: refusing(test.status, test.header)}
			server := a.Server(b)
			a.do(t, look("one"))
			require.Error(t, a.Sync(ctx, server))
			b.answer, b.asked = nil, 0
			if test.wait > 0 {
				c.pass(test.wait - 1000)
				err := a.Sync(ctx, server)
				require.Equal(t, fault.Code("busy"), fault.CodeOf(err))
				require.Equal(t, "The server is busy.", a.Status().Trouble.Words)
				_, err = server.Digest(ctx)
				require.Error(t, err)
				require.Zero(t, b.asked)
				c.pass(1000)
			}
			require.NoError(t, a.Sync(ctx, server))
			require.NotZero(t, b.asked)
			require.Zero(t, a.Status().Unsent)
		})
	}
}

// A photo that a busy server did not take waits, and is not held against the photo.
func TestAPhotoWaitsForABusyServer(t *testing.T) {
	s, c, a, _ := pair(t)
	b := &busy{Transport: s}
	server := a.Server(b)
	sum := snap(t, a, 1)
	require.NoError(t, a.Sync(ctx, server))
	b.answer = refusing(503, map[string]string{"retry-after": "5"})
	for range 10 {
		require.Error(t, a.Upload(ctx, server, nil))
	}
	b.answer = nil
	require.Zero(t, queue(t, a)[0].Tries)
	c.pass(5_000)
	require.NoError(t, a.Upload(ctx, server, nil))
	require.NotNil(t, s.photos[sum])
}

// A clock that is set back while a phone waits does not make it wait longer.
func TestAClockThatIsSetBackEndsTheWait(t *testing.T) {
	s, c, a, _ := pair(t)
	b := &busy{Transport: s, answer: refusing(503, map[string]string{"retry-after": "60"})}
	server := a.Server(b)
	require.Error(t, a.Sync(ctx, server))
	b.answer = nil
	c.pass(-aDay)
	require.NoError(t, a.Sync(ctx, server))
}
