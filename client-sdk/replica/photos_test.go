package replica_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

// snap adds a photo that takes several chunks to send, and a look that shows it.
func snap(t *testing.T, p *phone, seed uint64) model.PhotoSum {
	t.Helper()
	sum := draft(t, p, seed)
	show(t, p, model.PlantID{1}, sum)
	return sum
}

// draft adds a photo that nothing shows.
func draft(t *testing.T, p *phone, seed uint64) model.PhotoSum {
	t.Helper()
	sum, err := p.AddPhoto(ctx, picture(seed))
	require.NoError(t, err)
	return sum
}

func show(t *testing.T, p *phone, plant model.PlantID, sum model.PhotoSum) {
	t.Helper()
	_, err := p.Do(ctx, replica.Seen(&model.Inspection{Plant: plant, Photos: []model.PhotoSum{sum}}))
	require.NoError(t, err)
}

// picture is more than two chunks long.
func picture(seed uint64) []byte {
	pictures.Lock()
	defer pictures.Unlock()
	if pictures.made[seed] == nil {
		pictures.made[seed] = phototest.PNG(900, 900, seed)
	}
	return pictures.made[seed]
}

var pictures = struct {
	sync.Mutex
	made map[uint64][]byte
}{made: map[uint64][]byte{}}

func queue(t *testing.T, p *phone) []replica.Photo {
	t.Helper()
	q, err := p.Queue(ctx)
	require.NoError(t, err)
	return q
}

func TestPhotoGoesFromOnePhoneToTheOther(t *testing.T) {
	s, _, a, b := pair(t)
	sum := snap(t, a, 1)
	kept, mime, err := a.PhotoBytes(ctx, nil, sum, replica.ThumbnailSize)
	require.NoError(t, err)
	require.Equal(t, "image/png", mime)
	stripped, err := exif.Strip(picture(1))
	require.NoError(t, err)
	require.Equal(t, stripped.Kept, kept, "a photo taken here stands in for its rendering")
	require.Greater(t, len(kept), 2*(512<<10), "more than two chunks")

	a.reopen(t)
	require.Len(t, queue(t, a), 1)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Empty(t, queue(t, a))
	require.Equal(t, kept, s.photos[sum])
	requests := len(s.requests)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Len(t, s.requests, requests, "nothing is sent twice")

	_, _, err = b.PhotoBytes(ctx, nil, sum, 0)
	require.ErrorIs(t, err, replica.ErrNoPhoto, "not here, and offline")
	small, mime, err := b.PhotoBytes(ctx, b.server, sum, replica.ThumbnailSize)
	require.NoError(t, err)
	require.Equal(t, "rendering of size 320", string(small))
	require.Equal(t, "image/jpeg", mime)
	again, _, err := b.PhotoBytes(ctx, nil, sum, replica.ThumbnailSize)
	require.NoError(t, err, "what came is kept")
	require.Equal(t, small, again)

	b.line.fates = []fate{answerCut}
	_, _, err = b.PhotoBytes(ctx, b.server, sum, 0)
	require.ErrorIs(t, err, replica.ErrServer, "half a photo is not the photo")
	whole, _, err := b.PhotoBytes(ctx, b.server, sum, 0)
	require.NoError(t, err)
	require.Equal(t, kept, whole)
	require.Empty(t, queue(t, b), "it is not the second phone's to send")
}

// TestUploadGoesOn lets each request of an upload meet each fate, and kills the app.
func TestUploadGoesOn(t *testing.T) {
	for f := requestLost; f < fates; f++ {
		for at := range 4 {
			t.Run(fmt.Sprintf("%v, request %d", f, at+1), func(t *testing.T) {
				s, _, a, _ := pair(t)
				sum := snap(t, a, 1)
				a.line.fates = append(make([]fate, at), f)
				err := a.Upload(ctx, a.server, nil)
				if f != signedOut && f != answerCut {
					require.Error(t, err)
					require.Len(t, queue(t, a), 1)
					require.False(t, queue(t, a)[0].Held, "it goes on by itself")
				}
				a.line.fates = nil
				a.reopen(t)
				require.NoError(t, a.Upload(ctx, a.server, nil))
				require.Empty(t, queue(t, a))
				require.NotNil(t, s.photos[sum])
			})
		}
	}
}

func TestUploadResumesAtTheRightOffset(t *testing.T) {
	s, _, a, _ := pair(t)
	sum := snap(t, a, 1)
	a.line.fates = []fate{arrives, arrives, halfArrives} // created, one chunk, half a chunk
	require.ErrorIs(t, a.Upload(ctx, a.server, nil), replica.ErrOffline)
	require.Len(t, s.uploads, 1)
	var sent int
	for _, u := range s.uploads {
		sent = len(u.data)
	}
	require.Equal(t, 512<<10+256<<10, sent)
	before, created := s.count("PATCH"), s.count("POST")
	a.reopen(t)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	size := len(s.photos[sum])
	require.Equal(t, (size-sent+512<<10-1)/(512<<10), s.count("PATCH")-before, "only what was missing was sent")
	require.Equal(t, created+2, s.count("POST"), "signed in, and no new upload")

	// The last answer is lost: the photo is there, and is not sent again.
	other := snap(t, a, 2)
	chunks := (queue(t, a)[0].Bytes + 512<<10 - 1) / (512 << 10)
	a.line.fates = append(make([]fate, chunks), answerLost)
	require.ErrorIs(t, a.Upload(ctx, a.server, nil), replica.ErrOffline)
	require.NotNil(t, s.photos[other])
	before = s.count("PATCH")
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Equal(t, before, s.count("PATCH"))
	require.Empty(t, queue(t, a))
}

// An upload stops between two requests once it may not go on, and goes on from there.
func TestUploadPauses(t *testing.T) {
	s, _, a, _ := pair(t)
	sum := snap(t, a, 1)
	for allowed := range 5 {
		asked, sent := 0, s.count("PATCH")
		require.NoError(t, a.Upload(ctx, a.server, func() bool { asked++; return asked <= allowed }))
		if allowed < 4 {
			require.Nil(t, s.photos[sum])
			require.Equal(t, max(allowed-2, 0), s.count("PATCH")-sent, "one question for each request")
			require.False(t, queue(t, a)[0].Held)
		}
	}
	require.NotNil(t, s.photos[sum])
	require.Empty(t, queue(t, a))
	require.Equal(t, 3, s.count("PATCH"), "no piece was sent twice")
	s.requests = nil
	require.NoError(t, a.Upload(ctx, a.server, func() bool { return false }))
	require.Empty(t, s.requests)
}

func TestForgottenUploadBeginsAgain(t *testing.T) {
	s, _, a, _ := pair(t)
	sum := snap(t, a, 1)
	a.line.fates = []fate{arrives, arrives, requestLost}
	require.Error(t, a.Upload(ctx, a.server, nil))
	clear(s.uploads)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[sum])
}

func TestRefusedPhotoIsHeldAndTheOthersGoOn(t *testing.T) {
	s, _, a, _ := pair(t)
	bad, good := snap(t, a, 1), snap(t, a, 2)
	s.refuse[bad] = errNotImage
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[good])
	q := queue(t, a)
	require.Len(t, q, 1)
	require.Equal(t, bad, q[0].Sum)
	require.True(t, q[0].Held)
	require.Equal(t, errNotImage.Code, q[0].Code)
	require.Equal(t, errNotImage.Words, q[0].Words)
	require.Equal(t, 1, q[0].Tries)

	requests := len(s.requests)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Len(t, s.requests, requests, "a held photo waits for a person")
	delete(s.refuse, bad)
	require.NoError(t, a.RetryPhoto(ctx, bad))
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[bad])

	third := snap(t, a, 3)
	require.NoError(t, a.DropPhoto(ctx, third))
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Nil(t, s.photos[third])
	require.ErrorIs(t, a.RetryPhoto(ctx, third), replica.ErrNoPhoto)
}

// A household whose space for photos is full hears of it, although sending the photo
// again may help some day.
func TestPhotoWithoutSpaceIsHeld(t *testing.T) {
	s, _, a, _ := pair(t)
	sum := snap(t, a, 1)
	s.refuse[sum] = errQuota
	require.NoError(t, a.Upload(ctx, a.server, nil))
	held := queue(t, a)[0]
	require.True(t, held.Held)
	require.Equal(t, errQuota.Words, held.Words)
}

// TestTroubleIsNotThePhotosFault: what says nothing about a photo does not hold it.
func TestTroubleIsNotThePhotosFault(t *testing.T) {
	for _, f := range []*fault.Fault{errFull, errTooOften, errInternal} {
		t.Run(string(f.Code), func(t *testing.T) {
			s, _, a, _ := pair(t)
			snap(t, a, 1)
			s.trouble = f
			for range 10 {
				require.Error(t, a.Upload(ctx, a.server, nil))
			}
			require.False(t, queue(t, a)[0].Held)
			s.trouble = nil
			require.NoError(t, a.Upload(ctx, a.server, nil))
			require.Empty(t, queue(t, a))
		})
	}
	t.Run("a refusal that is not about photos", func(t *testing.T) {
		s, _, a, _ := pair(t)
		snap(t, a, 1)
		other := snap(t, a, 2)
		s.trouble = fault.New("request_invalid", "Unreadable.")
		for range 4 {
			require.NoError(t, a.Upload(ctx, a.server, nil))
			require.False(t, queue(t, a)[0].Held)
		}
		require.NoError(t, a.Upload(ctx, a.server, nil))
		require.True(t, queue(t, a)[0].Held, "it is tried five times")
		require.True(t, queue(t, a)[1].Held)
		require.Nil(t, s.photos[other])
	})
	t.Run("a server that gets nowhere", func(t *testing.T) {
		s, _, a, _ := pair(t)
		snap(t, a, 1)
		s.stuck = true
		require.ErrorIs(t, a.Upload(ctx, a.server, nil), replica.ErrServer)
		require.Less(t, s.count("PATCH"), 20)
		require.False(t, queue(t, a)[0].Held)
	})
}

func TestAddPhoto(t *testing.T) {
	_, _, a, _ := pair(t)
	_, err := a.AddPhoto(ctx, []byte("not a picture"))
	require.ErrorIs(t, err, exif.ErrNotImage)
	secret := "GPS 59.9139 10.7522"
	clean := phototest.JPEG(40, 30, 1)
	comment := append([]byte{0xff, 0xfe, 0, byte(len(secret) + 2)}, secret...)
	sum, err := a.AddPhoto(ctx, append(append(append([]byte{}, clean[:2]...), comment...), clean[2:]...))
	require.NoError(t, err)
	kept, _, err := a.PhotoBytes(ctx, nil, sum, 0)
	require.NoError(t, err)
	require.NotContains(t, string(kept), secret)
	require.Empty(t, queue(t, a), "nothing shows it")
	show(t, a, model.PlantID{1}, sum)
	require.Len(t, queue(t, a), 1)
	again, err := a.AddPhoto(ctx, clean)
	require.NoError(t, err)
	require.Equal(t, sum, again, "the same picture is the same photo")
	require.Len(t, queue(t, a), 1)
}

func TestSampleHouseholdSendsNoPhotos(t *testing.T) {
	c := newClock()
	p := newPhone(newFakeServer(c.now), c, 1)
	r, err := replica.Found(ctx, p.vault, p.opts, replica.Start{Household: "Sample", Member: "Ash", Local: true})
	require.NoError(t, err)
	p.use(r)
	require.True(t, p.Local())
	sum := snap(t, p, 1)
	require.Empty(t, queue(t, p))
	_, _, err = p.PhotoBytes(ctx, nil, sum, 0)
	require.NoError(t, err)
}

func TestZone(t *testing.T) {
	asked := transport(func(r replica.Request) (*replica.Response, error) {
		if strings.HasSuffix(r.Path, "/zone/Europe/Oslo") && r.Header["authorization"] == "" {
			return &replica.Response{Status: 200, Body: []byte("TZif")}, nil
		}
		return refusal(fault.New("zone_unknown", "Unknown.")), nil
	})
	data, err := replica.Zone(ctx, asked, "Europe/Oslo")
	require.NoError(t, err)
	require.Equal(t, "TZif", string(data))
	_, err = replica.Zone(ctx, asked, "Nowhere")
	require.Equal(t, fault.Code("zone_unknown"), fault.CodeOf(err))
}
