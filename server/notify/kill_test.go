package notify_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/auth"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/server/notify/webpush/webpushtest"
	"leafturn/sync/oplog"
)

var kills = flag.Int("kills", 20, "how many times a process that sends notes is killed")

// Set in the environment of a process that is only there to be killed: the folder it
// works in, what time it believes it is, and where the push service is.
const (
	childDir    = "LEAFTURN_TEST_NOTIFY_FROM"
	childTime   = "LEAFTURN_TEST_NOTIFY_AT"
	childOrigin = "LEAFTURN_TEST_NOTIFY_TO"
	childTrusts = "LEAFTURN_TEST_NOTIFY_TRUSTS"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		if err := notifyOnce(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// notifyOnce is a server that tells people what is due at one moment, and ends.
func notifyOnce(dir string) error {
	seconds, err := strconv.ParseInt(os.Getenv(childTime), 10, 64)
	if err != nil {
		return err
	}
	certificate, err := base64.StdEncoding.DecodeString(os.Getenv(childTrusts))
	if err != nil {
		return err
	}
	now := func() time.Time { return time.Unix(seconds, 0) }
	db, err := badgerdb.Open(filepath.Join(dir, "store"), badgerdb.Config{Gate: roomy{}, Log: quiet})
	if err != nil {
		return err
	}
	key, err := auth.LoadSenderKey(filepath.Join(dir, "push.key"), "", now)
	if err != nil {
		return err
	}
	policy := webpushtest.PolicyOf(os.Getenv(childOrigin), certificate)
	n := notify.New(notify.Config{
		Store: db, Households: household.New(db, now), Push: webpush.New(key, policy, now), Check: policy.Check, Now: now, Log: quiet,
	})
	n.Round(context.Background())
	return db.Close()
}

// killer is a push service that kills whoever sends to it, when enough has come.
type killer struct {
	next  chan int // messages until the next kill
	child chan *os.Process
	rnd   *rand.Rand // for whoever has taken from next
}

// take kills before the message is taken or after. Either way the sender gets no
// answer.
func (k *killer) take(webpushtest.Taken) webpushtest.Answer {
	left := <-k.next - 1
	early := k.rnd.IntN(2) == 0
	k.next <- left
	if left != 0 {
		return webpushtest.Answer{Status: http.StatusCreated}
	}
	child := <-k.child
	_ = child.Kill() // it may have ended by itself
	if early {
		return webpushtest.Answer{Status: http.StatusServiceUnavailable}
	}
	return webpushtest.Answer{Status: http.StatusCreated}
}

// Processes that send notes to a real push service over TLS, from a real store, are
// killed while they do so, on one day after the other. Every household is told on
// every day, and all that comes to a phone on a day has one topic.
func TestKilledProcesses(t *testing.T) {
	dir := t.TempDir()
	rnd := rand.New(rand.NewPCG(20260314, 9))
	k := &killer{next: make(chan int, 1), child: make(chan *os.Process, 1), rnd: rand.New(rand.NewPCG(20260314, 10))}
	s := webpushtest.NewService(k.take)
	t.Cleanup(s.Close)
	day := time.Date(2026, 3, 14, 8, 0, 0, 0, time.UTC)
	browsers := settle(t, filepath.Join(dir, "store"), s, day, 40)

	killed, repeated := 0, 0
	for ; killed < *kills; day = day.AddDate(0, 0, 1) {
		before := len(s.Taken())
		for run := 0; ; run++ {
			k.next <- 1 + rnd.IntN(6)
			// Claims of those killed before have run out.
			died := runChild(t, dir, day.Add(time.Duration(run)*(notify.Lease+time.Second)), s, k)
			<-k.next
			if !died {
				break
			}
			killed++
		}
		repeated += checkDay(t, browsers, s.Taken()[before:], day.Format(time.DateOnly))
	}
	t.Logf("%d kills, %d households, %d notes repeated under their own topic", killed, len(browsers), repeated)
}

// checkDay checks what came on a day, and gives how many notes were repetitions.
func checkDay(t *testing.T, browsers map[string]webpushtest.Browser, taken []webpushtest.Taken, day string) (repeated int) {
	t.Helper()
	topics := map[string]string{}
	for _, m := range taken {
		topic := m.Header.Get("Topic")
		if known, again := topics[m.Path]; again {
			require.Equal(t, known, topic, "a phone was told under two topics")
			repeated++
		}
		topics[m.Path] = topic
		text, err := browsers[m.Path].Open(m.Body)
		require.NoError(t, err)
		var n notify.Note
		require.NoError(t, json.Unmarshal(text, &n))
		require.Equal(t, notify.Note{Version: 1, Kind: notify.Digest, Topic: topic, Day: day, Due: 1, Overdue: 0}, n)
	}
	require.Len(t, topics, len(browsers), "somebody was forgotten")
	return repeated
}

// runChild runs a server, and reports whether it was killed.
func runChild(t *testing.T, dir string, at time.Time, s *webpushtest.Service, k *killer) (killed bool) {
	t.Helper()
	var said bytes.Buffer
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childDir+"="+dir, childTime+"="+strconv.FormatInt(at.Unix(), 10),
		childOrigin+"="+s.Endpoint(""), childTrusts+"="+base64.StdEncoding.EncodeToString(s.Certificate()))
	cmd.Stderr = &said
	require.NoError(t, cmd.Start())
	k.child <- cmd.Process
	err := cmd.Wait()
	select {
	case <-k.child:
		require.NoError(t, err, said.String())
		return false
	default:
		require.Error(t, err)
		return true
	}
}

// settle founds households, whose one phone each wants a digest at eight.
func settle(t *testing.T, dir string, s *webpushtest.Service, at time.Time, households int) map[string]webpushtest.Browser {
	t.Helper()
	now := func() time.Time { return at.Add(-time.Hour) }
	db, err := badgerdb.Open(dir, badgerdb.Config{Gate: roomy{}, Log: quiet})
	require.NoError(t, err)
	service := household.New(db, now)
	browsers := map[string]webpushtest.Browser{}
	for i := range households {
		p := phonetest.Found(t, byte(i+1), now)
		p.Write(t, set(model.KindPlant, uuid.UUID{1}, model.PlantPlace, model.IDValue(model.PlaceID{2})),
			set(model.KindPlace, uuid.UUID{2}, model.PlaceName, model.Text("Shelf")),
			set(model.KindMember, p.State.Member(p.Device()).UUID(), model.MemberDigestAt, model.Int(eight)))
		m := p.Introduction()
		m.Batches = p.Batches(t, p.Device())
		_, err := service.Found(t.Context(), m, func(found func() error) error { return found() })
		require.NoError(t, err)
		path := fmt.Sprintf("/to/%d", i)
		browsers[path] = webpushtest.NewBrowser(uint64(i))
		n := notify.New(notify.Config{Store: db, Check: s.Policy().Check, Now: now})
		require.NoError(t, n.Subscribe(t.Context(), p.Household(), p.Device(), browsers[path].Subscription(s.Endpoint(path))))
	}
	require.NoError(t, db.Close())
	return browsers
}

func set(k model.Kind, id uuid.UUID, f model.Field, v model.Value) *oplog.Set {
	return &oplog.Set{Record: model.Ref{Kind: k, ID: id}, Fields: []oplog.Setting{{Key: model.FieldKey{Field: f}, Value: v}}}
}
