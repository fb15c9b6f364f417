package screens_test

import (
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

func memberExamples(t *texts.Catalogue) []example {
	return []example{
		{"plants-removal", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Groups: []screens.PlantGroup{{Place: sill, Plants: rows[:1]}},
			Removals: []screens.Removal{{Record: "5." + fern, Name: "Aunt’s jade", Words: t.Conflict.Removed("Aunt’s jade", "Jonna", "Mirek", "name and place"), Decide: true}}})},
		{"plants-guest", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Guest: true, Groups: []screens.PlantGroup{{Place: sill, Plants: rows[:1]}}})},
		{"member", screens.SpotHousehold, screens.Member(t, screens.MemberView{ID: "m2", Name: "Jonna", Role: model.Helper, Appoint: true, Remove: true,
			Phones: []screens.MemberPhone{{ID: "d2", Name: "Jonna’s phone, last heard 14:02", Revoke: true}, {ID: "d3", Name: "Tablet, last heard Sun 22 Nov", Revoke: true}}})},
		{"member-me", screens.SpotHousehold, screens.Member(t, screens.MemberView{ID: "m2", Name: "Jonna", Role: model.Helper, Me: true, Leave: true, Phones: []screens.MemberPhone{{ID: "d2", Name: "Jonna’s phone", This: true}}})},
		{"member-last", screens.SpotHousehold, screens.Member(t, screens.MemberView{ID: "m1", Name: "Mirek", Role: model.Keeper, Me: true, LastKeeper: true, Phones: []screens.MemberPhone{{ID: "d1", Name: "Mirek’s phone", This: true}}})},
		{"household-notices", screens.SpotHousehold, screens.Household(t, screens.HouseholdView{Name: "Number 12", Guest: true, Data: screens.DataView{Status: "Shared at 14:02", Notices: []screens.Notice{
			{Title: t.Members.OutTitle, Words: []string{"This phone was signed off from the household."}, Route: screens.RouteRejoin, Label: t.Members.OutDo},
			{Title: t.Members.MovedCopy, Words: []string{"Two phones are writing as one.", t.Members.Carried(3), t.Members.LeftBehind(1)}, Read: screens.ActMoveRead},
			{Title: t.Members.RestoredTitle, Words: []string{t.Members.Restored}, Read: screens.ActRestoredRead},
			{Title: t.Members.AsideCount(2), Route: screens.RouteAside, Label: t.Members.AsideLook},
		}}})},
		{"member-guest", screens.SpotHousehold, screens.Member(t, screens.MemberView{ID: "m3", Name: "Sitter", Role: model.Guest, Stay: t.Reminders.StayUntil("Thu 24 Dec"), Reminders: true, Appoint: true, Remove: true})},
		{"aside", screens.SpotHousehold, screens.Aside(t, []screens.AsideRow{
			{ID: "d2.17", Title: "Calathea, looked, nothing found", By: "Jonna, Tue 24 Nov, 18:40", Why: "This phone was signed off from the household.", Again: true},
			{ID: "d2.18", Title: t.Members.MemberChange, By: "Jonna, Tue 24 Nov, 18:41", Why: "Your role in this household does not allow this."}})},
		{"aside-none", screens.SpotHousehold, screens.Aside(t, nil)},
		{"rejoin", screens.SpotHousehold, screens.Rejoin(t, screens.RejoinView{Why: "This phone was signed off from the household."})},
		{"rejoin-link", screens.SpotHousehold, screens.Rejoin(t, screens.RejoinView{Why: "This phone was signed off from the household.", Invitation: "abc", Problem: "This link is not complete."})},
		{"return", screens.SpotHousehold, screens.Return(t, screens.ReturnView{Household: "Number 12", Setup: "abc"})},
		{"return-problem", screens.SpotHousehold, screens.Return(t, screens.ReturnView{Household: "Number 12", Setup: "abc", Problem: "This set-up link was already used."})},
		{"handover", screens.SpotHousehold, screens.HandOver(t, screens.HandOverView{Done: t.Members.Took(12)})},
		{"handover-problem", screens.SpotHousehold, screens.HandOver(t, screens.HandOverView{Problem: t.Members.NoFile})},
	}
}
