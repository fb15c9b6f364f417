//go:build !js

package browser_test

import (
	"bufio"
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// devtools talks to a browser through its debugging pipe: JSON messages, each
// followed by a zero byte (Chrome DevTools Protocol).
type devtools struct {
	t      *testing.T
	in     *os.File
	out    *bufio.Reader
	lastID int
}

func (d *devtools) call(session, method string, params, result any) {
	d.t.Helper()
	d.lastID++
	message, err := json.Marshal(map[string]any{"id": d.lastID, "sessionId": session, "method": method, "params": params})
	require.NoError(d.t, err)
	if session == "" {
		message, err = json.Marshal(map[string]any{"id": d.lastID, "method": method, "params": params})
		require.NoError(d.t, err)
	}
	_, err = d.in.Write(append(message, 0))
	require.NoError(d.t, err)
	for {
		data, err := d.out.ReadBytes(0)
		require.NoError(d.t, err, method)
		var answer struct {
			ID     int             `json:"id"`
			Result json.RawMessage `json:"result"`
			Error  json.RawMessage `json:"error"`
		}
		require.NoError(d.t, json.Unmarshal(data[:len(data)-1], &answer))
		if answer.ID != d.lastID {
			continue // an event
		}
		require.Empty(d.t, string(answer.Error), method)
		if result != nil {
			require.NoError(d.t, json.Unmarshal(answer.Result, result))
		}
		return
	}
}

// TestFullDisk gives the page so little room that a photo does not fit any more.
func TestFullDisk(t *testing.T) {
	h := newHarness(t)
	toBrowser, in, err := os.Pipe()
	require.NoError(t, err)
	out, fromBrowser, err := os.Pipe()
	require.NoError(t, err)
	b := h.launch(t, profile(t), []*os.File{toBrowser, fromBrowser}, "--remote-debugging-pipe", "about:blank")
	defer b.kill(t)
	for _, f := range []*os.File{toBrowser, fromBrowser} {
		require.NoError(t, f.Close()) // the browser has its own
	}
	d := &devtools{t: t, in: in, out: bufio.NewReader(out)}
	var targets struct {
		TargetInfos []struct {
			TargetID string `json:"targetId"`
			Type     string `json:"type"`
		} `json:"targetInfos"`
	}
	for len(targets.TargetInfos) == 0 || targets.TargetInfos[0].Type != "page" {
		d.call("", "Target.getTargets", map[string]any{"filter": []map[string]any{{"type": "page"}}}, &targets)
	}
	var attached struct {
		SessionID string `json:"sessionId"`
	}
	d.call("", "Target.attachToTarget", map[string]any{"targetId": targets.TargetInfos[0].TargetID, "flatten": true}, &attached)
	d.call(attached.SessionID, "Storage.overrideQuotaForOrigin", map[string]any{"origin": h.URL, "quotaSize": 2_000_000}, nil)
	d.call(attached.SessionID, "Page.navigate", map[string]any{"url": h.page([]string{"ROLE=hoarder"}, "-test.v", "-test.run=^TestHoard$")}, nil)
	printed := h.wait(t, b)
	require.Contains(t, printed, "--- PASS: TestHoard")
	t.Log(printed)
}
