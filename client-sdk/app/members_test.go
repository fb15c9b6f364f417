package app

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// member is the id of a member by the name.
func (p *phone) member(name string) string {
	var id string
	p.house.Read(func(b *model.Book) {
		for _, m := range b.Members {
			if m.Name == name {
				id = m.ID.String()
			}
		}
	})
	require.NotEmpty(p.t, id, name)
	return id
}

// invitation makes an invitation for a new member.
func (p *phone) invitation(role string) string {
	p.do(screens.ActInvite, "role", role)
	return p.value(`#join=([A-Za-z0-9_-]+)`)
}

func TestRolesAreChangedByKeepersOnly(t *testing.T) {
	ada, ben := pairOf(t, "2")
	page := ben.open(screens.MemberRoute(ben.member("Ada")))
	for _, act := range []string{screens.ActAppoint, screens.ActRevoke, screens.ActRemoveMember, screens.ActLeave} {
		require.NotContains(t, page, `data-do="`+act, "a helper changes nobody")
	}
	require.Contains(t, ben.open(screens.MemberRoute(ben.member("Ben"))), `data-do="leave"`)
	page = ada.open(screens.MemberRoute(ada.member("Ada")))
	require.Contains(t, page, ada.App.t.Members.LastKeeper)
	for _, act := range []string{screens.ActAppoint, screens.ActLeave, screens.ActRevoke} {
		require.NotContains(t, page, `data-do="`+act, "the last keeper stays")
	}
	ada.open(screens.MemberRoute(ada.member("Ben")))
	ada.do(screens.ActAppoint, "member", ada.member("Ben"), "role", "1")
	require.Contains(t, ada.main(), ada.App.t.Words.Role[model.Keeper])
	ada.sync()
	ben.sync()
	require.Contains(t, ben.open(screens.MemberRoute(ben.member("Ada"))), `data-do="appoint"`)
	require.Contains(t, ada.open(screens.MemberRoute(ada.member("Ada"))), `data-do="leave"`, "there is another keeper now")
	ada.do(screens.ActLeave)
	require.Contains(t, ada.main(), ada.App.t.Members.OutTitle)
	ada.sync()
	ben.sync()
	require.NotContains(t, ben.open(screens.RouteHousehold), "Ada", "who has left is not among the members")
}

func TestASignedOffPhoneComesBack(t *testing.T) {
	ada, ben := pairOf(t, "2")
	ben.link.out = true
	fern := ben.plant("Fern")
	ben.do(screens.ActNothingFound, "plant", fern)
	ada.open(screens.MemberRoute(ada.member("Ben")))
	require.Equal(t, ben.house.Device().String(), ada.value(`data-do="revoke" data-device="([^"]+)"`))
	ada.do(screens.ActRevoke, "device", ben.house.Device().String())
	ada.sync()
	ben.link.out = false
	require.NotContains(t, ben.open(screens.RouteHousehold), ben.App.t.Members.OutTitle)
	ben.sync()
	require.Contains(t, ben.main(), ben.App.t.Members.OutTitle, "also who looks at the screen meanwhile reads it")
	require.Equal(t, ben.App.t.Members.OutTitle, ben.page["status"])
	require.Contains(t, ben.open(screens.RouteRejoin), `data-do="rejoin"`)
	ben.do(screens.ActRejoin, "link", "nothing")
	require.Contains(t, ben.main(), `role="alert"`)
	require.NotContains(t, ada.open(screens.RouteRejoin), `data-do="rejoin"`, "nobody else is asked to")

	ben.restart(screens.RouteJoin + ada.invitation("2"))
	require.Contains(t, ben.main(), `data-do="rejoin"`)
	ben.do(screens.ActRejoin, "link", ben.value(`name="link" value="([^"]+)"`))
	require.Contains(t, ben.open(screens.RouteHousehold), ben.App.t.Members.MovedBack)
	require.Contains(t, ben.main(), ben.App.t.Members.Carried(1))
	require.Contains(t, ben.main(), ben.App.t.Household.Me("Ben"), "the names are those from before")
	require.Contains(t, ben.main(), "Old phone")
	ben.do(screens.ActMoveRead)
	require.NotContains(t, ben.main(), ben.App.t.Members.MovedBack)
	ben.sync()
	ada.sync()
	require.Contains(t, ada.open(screens.PlantRoute(fern)), ada.App.t.Story.LookedClean, "what was not sent was carried over")
}

// What a phone had sent before its signing off was known there is set aside. A keeper
// reads of it and writes it again; a change of members is for the keeper to make anew.
func TestEntriesThatDoNotCount(t *testing.T) {
	ada, ben := pairOf(t, "1")
	fern := ada.plant("Fern")
	ada.link.out = true
	ada.do(screens.ActRevoke, "device", ben.house.Device().String())
	ben.do(screens.ActNothingFound, "plant", fern)
	ben.do(screens.ActAppoint, "member", ben.member("Ada"), "role", "2")
	ben.sync()
	ada.link.out = false
	ada.sync()
	require.NotContains(t, ada.open(screens.PlantRoute(fern)), ada.App.t.Story.LookedClean)
	require.Contains(t, ada.open(screens.RouteHousehold), ada.App.t.Members.AsideCount(2))
	page := ada.open(screens.RouteAside)
	for _, words := range []string{"Fern", "Ben, ", ada.App.t.Members.MemberChange} {
		require.Contains(t, page, words)
	}
	require.Equal(t, 1, strings.Count(page, `data-do="`+screens.ActWriteAgain))
	ada.do(screens.ActWriteAgain, "fact", ada.value(`data-do="write-again" data-fact="([^"]+)"`))
	require.Contains(t, ada.open(screens.RouteHousehold), ada.App.t.Members.AsideCount(1))
	require.Contains(t, ada.open(screens.PlantRoute(fern)), "Ben, ")
}

func TestHandOverByFile(t *testing.T) {
	ada, ben := pairOf(t, "2")
	ada.link.out, ben.link.out = true, true
	fern := ada.plant("Fern")
	ada.do(screens.ActNothingFound, "plant", fern)
	ada.open(screens.RouteFile)
	file := ada.do(screens.ActSaveFile).Save
	require.NotNil(t, file)

	ben.open(screens.RouteFile)
	ben.do(screens.ActTakeFile)
	require.Contains(t, ben.main(), ben.App.t.Members.NoFile)
	take := func(data []byte) {
		ben.send(Event{Do: screens.ActTakeFile, Files: []File{{Field: "file", Name: file.Name, Bytes: data}}})
	}
	take([]byte("something else"))
	require.Contains(t, ben.main(), `role="alert"`)
	take(file.Bytes)
	require.Contains(t, ben.main(), ben.App.t.Members.Took(1))
	require.Contains(t, ben.open(screens.PlantRoute(fern)), ben.App.t.Story.LookedClean)
	require.Equal(t, ada.digest(), ben.digest())
	take(file.Bytes)
	require.Contains(t, ben.main(), ben.App.t.Members.Took(0))
}
