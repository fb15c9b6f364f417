package app

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
)

// on brings a phone to another network.
func (p *phone) on(n texts.Network) {
	p.options.Network = func() texts.Network { return n }
	p.o.Network = p.options.Network
	p.show(p.NetworkChanged(context.Background()))
}

func (p *phone) unsent() int {
	p.readQueue(context.Background())
	return len(p.syncs.queue)
}

func TestPhotosAreSentAsAPersonChose(t *testing.T) {
	for name, c := range map[string]struct {
		choice texts.Sending
		on     texts.Network
		sent   bool
	}{
		"always, on mobile data":      {texts.SendAlways, texts.NetworkCosts, true},
		"free, on mobile data":        {texts.SendFree, texts.NetworkCosts, false},
		"free, and nobody knows":      {texts.SendFree, texts.NetworkUnsaid, false},
		"free, on Wi-Fi":              {texts.SendFree, texts.NetworkFree, true},
		"only when asked, on Wi-Fi":   {texts.SendAsked, texts.NetworkFree, false},
		"only when asked, on another": {texts.SendAsked, texts.NetworkUnsaid, false},
	} {
		t.Run(name, func(t *testing.T) {
			p, _ := pictured(t, "photos/leaf-spotted-1.jpg")
			p.on(c.on)
			p.open(screens.RouteData)
			p.do(screens.ActSending, "sending", string(c.choice))
			p.sync()
			require.Zero(t, p.house.Status().Unsent, "entries are always sent")
			if c.sent {
				require.Zero(t, p.unsent())
				require.Regexp(t, `^Shared `, p.page["status"])
				return
			}
			require.Equal(t, 1, p.unsent())
			require.Equal(t, "1 photo waits on this phone", p.page["status"], "and not that all is shared")
			require.False(t, p.Waits(), "trying again would change nothing")
			require.Contains(t, p.page[screens.IDData], "Send 1 photo now")
			p.do(screens.ActSendPhotos)
			p.sync()
			require.Zero(t, p.unsent())
			require.NotContains(t, p.page[screens.IDData], "Send 1 photo now")
			require.Regexp(t, `^Shared `, p.page["status"])
		})
	}
}

// The choice is this phone's, outlives a reload, and is taken up again with the network.
func TestChoiceOfSendingIsKept(t *testing.T) {
	p, _ := pictured(t, "photos/leaf-spotted-1.jpg")
	p.on(texts.NetworkCosts)
	p.do(screens.ActSending, "sending", "never")
	require.Equal(t, texts.SendAlways, p.syncs.sending, "an unknown word changes nothing")
	p.do(screens.ActSending, "sending", string(texts.SendFree))
	p.restart(screens.RouteData)
	require.Equal(t, texts.SendFree, p.syncs.sending)
	p.sync()
	require.Equal(t, 1, p.unsent())
	p.on(texts.NetworkFree)
	require.True(t, p.Waits())
	p.sync()
	require.Zero(t, p.unsent())
}
