//go:build js && wasm

package browser_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"runtime/debug"
	"strconv"
	"syscall/js"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/browser"
	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/workload"
)

const tenYears = "ten-years"

// fetched gives a file that the harness serves.
func fetched(t *testing.T, name string) []byte {
	resp, err := browser.Transport{}.Do(context.Background(), replica.Request{Method: "GET", Path: "/ten-years/" + name})
	require.NoError(t, err)
	require.Equal(t, 200, resp.Status, name)
	return resp.Body
}

// TestKeepTenYears fills a vault with what package tenyears left.
func TestKeepTenYears(t *testing.T) {
	if os.Getenv("ROLE") != "keeper" {
		t.Skip("part of TestTenYears")
	}
	ctx := context.Background()
	v := open(t, tenYears)
	who := fetched(t, "who")
	require.NoError(t, v.Begin(ctx, replica.Beginning{Identity: replica.Identity{Household: model.HouseholdID(who[:16]), Seed: who[16:]}}))
	for heads := fetched(t, "heads"); len(heads) > 0; heads = heads[56:] {
		log := fetched(t, "log-"+model.DeviceID(heads[:16]).String())
		batches, err := workload.ReadPage(bytes.NewReader(log), len(log))
		require.NoError(t, err)
		require.Equal(t, binary.BigEndian.Uint64(heads[16:]), batches[len(batches)-1].Last())
		require.NoError(t, v.Append(ctx, batches))
	}
	require.NoError(t, v.SaveSnapshot(ctx, fetched(t, "snapshot")))
}

// TestOpenTenYears opens it in a fresh page, as a phone does that is started again, and
// then checks it, while somebody taps all the time.
func TestOpenTenYears(t *testing.T) {
	if os.Getenv("ROLE") != "opener" {
		t.Skip("part of TestTenYears")
	}
	facts, err := strconv.Atoi(os.Getenv("FACTS"))
	require.NoError(t, err)
	percent := debug.SetGCPercent(-1) // as the phone app does while it opens
	ctx, began := context.Background(), time.Now()
	v := open(t, tenYears)
	wall := func() int64 { return time.Now().UnixMilli() }
	r, err := replica.Open(ctx, v, replica.Options{Wall: wall, Random: nil, NewID: uuid.New})
	require.NoError(t, err)
	known, last := 0, model.Instant(0)
	r.Read(func(b *model.Book) {
		known = b.Len()
		for id := range b.Plants {
			all := b.PlantFacts(id)
			last = max(last, all[len(all)-1].At)
		}
	})
	say("ten-years-chromium-open-ms", float64(time.Since(began).Microseconds())/1e3, "ms")
	debug.SetGCPercent(percent)
	require.Equal(t, facts, known)
	require.NotZero(t, last)

	require.NoError(t, v.Keep(ctx, "checked", nil), "as if it had not been checked before")
	r, err = replica.Open(ctx, v, replica.Options{Wall: wall, Random: nil, NewID: uuid.New})
	require.NoError(t, err)
	began = time.Now()
	longest := tapping(t, func() { require.NoError(t, r.CheckSnapshot(ctx)) })
	say("ten-years-chromium-check-ms", float64(time.Since(began).Microseconds())/1e3, "ms")
	say("ten-years-chromium-check-longest-step-ms", longest, "ms")
	estimate, err := browser.Await(js.Global().Get("navigator").Get("storage").Call("estimate"))
	require.NoError(t, err)
	say("ten-years-chromium-disk-bytes", estimate.Get("usage").Float(), "B")
}

func say(figure string, value float64, unit string) { fmt.Printf("%s %.0f %s\n", figure, value, unit) }

// tapping does something, and gives the longest time in milliseconds that a message of
// the page would have had to wait meanwhile.
func tapping(t *testing.T, do func()) (longest float64) {
	channel := js.Global().Get("MessageChannel").New()
	now := func() float64 { return js.Global().Get("performance").Call("now").Float() }
	taps, last := 0, now()
	tap := js.FuncOf(func(js.Value, []js.Value) any {
		longest, last, taps = max(longest, now()-last), now(), taps+1
		channel.Get("port1").Call("postMessage", 0)
		return nil
	})
	defer tap.Release()
	channel.Get("port2").Set("onmessage", tap)
	channel.Get("port1").Call("postMessage", 0)
	do()
	channel.Get("port2").Call("close")
	require.Positive(t, taps)
	return longest
}
