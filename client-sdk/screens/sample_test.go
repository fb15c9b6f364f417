package screens_test

import (
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// An invented household for the tests: people, plants and products are made up.
const (
	fern  = "018f0000-0000-7000-8000-000000000001"
	photo = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
	link  = "https://leaf.example/#join=3q2-7wAAQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQQ"
)

var (
	underside = screens.Photo{Sum: photo, Alt: "Underside of a leaf of Monstera by the window, Tue 24 Nov"}
	sill      = screens.Named{ID: "pl1", Name: "Living room sill"}
	places    = []screens.Named{sill, {ID: "pl2", Name: "Kitchen shelf"}, {ID: "pl3", Name: "Bedroom"}}
	cautions  = []string{
		"The label comes first, then local rules and licensed advice. They win over this app.",
		"Not above 32 °C, not in direct sun, not on a thirsty or freshly potted plant: leaves can burn.",
		"Open a window. Wear gloves and protect your eyes.",
	}
	spray = screens.TaskView{
		ID: "t1", Kind: screens.TaskSpray, Action: "Spray 3 plants", Place: "Living room sill", Product: "Potash soap (invented)", Amount: "360 ml of spray",
		Plants: []screens.Named{{ID: fern, Name: "Big monstera"}, {ID: "p2", Name: "Calathea"}, {ID: "p3", Name: "Hoya on the hook"}},
		State:  texts.Due, DueWords: "Today", Cautions: cautions,
		Why:    []string{"8 days after the last spray on Tue 17 Nov, as the course says.", "The interval of 7 to 10 days is common practice, no source."},
		PutOff: []screens.Named{{ID: "2026-11-26", Name: "Tomorrow"}, {ID: "2026-11-27", Name: "Fri 27 Nov"}, {ID: "2026-11-28", Name: "Sat 28 Nov"}},
	}
	look = screens.TaskView{
		ID: "t2", Kind: screens.TaskCheck, Action: "Look again at 1 plant", Place: "Kitchen shelf", Plants: []screens.Named{{ID: "p4", Name: "Basil"}},
		State: texts.Overdue, DueWords: "Since Mon 23 Nov", Claim: "Jonna takes it, until 22:00",
		Why: []string{"3 days after the spray on Fri 20 Nov: what still moves was missed."}, PutOff: []screens.Named{{ID: "2026-11-26", Name: "Tomorrow"}},
	}
	walk = screens.TaskView{Water: "pl1",
		ID: "t3", Kind: screens.TaskRound, Action: "Round: Bedroom", State: texts.Due, DueWords: "Today", Open: screens.RoundRoute("pl3"),
		Why: []string{"Weekly, last walked on Wed 18 Nov."}, Mine: true, Claim: "You take it, until 22:00",
	}
	rows = []screens.PlantRow{
		{ID: fern, Name: "Big monstera", Species: "Monstera deliciosa", Standing: texts.InTreatment, Note: "Thrips. Next: spray tomorrow", Photo: &underside},
		{ID: "p2", Name: "Calathea", Species: "Goeppertia orbifolia", Standing: texts.Quarantined, Note: "Apart since Tue 3 Nov"},
		{ID: "p3", Name: "Hoya on the hook", Standing: texts.Watch, Note: "Something was found on Fri 20 Nov"},
		{ID: "p5", Name: "Aunt’s jade", Species: "Crassula ovata", Standing: texts.Clear, Note: "Looked at on Sun 22 Nov, nothing found"},
	}
	timeline = []screens.TimelineDay{
		{Date: "Tue 24 Nov", Entries: []screens.TimelineEntry{
			{Fact: "d1-41", Kind: screens.EntryFinding, Title: "Found something", Detail: "Underside: pale speckling and black specks; 4 young and 1 adult", Note: "Mostly on the oldest leaf.", By: "Mirek, 18:42", Photos: []screens.Photo{underside, underside}},
		}},
		{Date: "Tue 17 Nov", Entries: []screens.TimelineEntry{
			{Fact: "d1-33", Kind: screens.EntrySpray, Title: "Treated with Potash soap (invented)", Detail: "On: underside, top side and stem", By: "Jonna, 20:10", Doubled: true},
			{Fact: "d1-30", Kind: screens.EntryHandled, Title: "Set apart", By: "Mirek, 19:55"},
		}},
		{Date: "Tue 10 Nov", Entries: []screens.TimelineEntry{
			{Fact: "d1-20", Kind: screens.EntryClean, Title: "Looked, nothing found", By: "Mirek, 18:01"},
			{Fact: "d1-19", Kind: screens.EntrySpray, Title: "Treated with Potash soap (invented)", Withdrawn: "Jonna: that was the palm"},
		}},
	}
	courseDays = []screens.CourseDay{
		{Date: "Tue 17 Nov", What: "Spray 3 plants", Kind: screens.TaskSpray, State: texts.Done, Words: "Jonna", Why: "the course begins here."},
		{Date: "Fri 20 Nov", What: "Look again", Kind: screens.TaskCheck, State: texts.Done, Words: "Mirek", Why: "3 days after the spray; what still moves was missed."},
		{Date: "Wed 25 Nov", What: "Spray 3 plants", Kind: screens.TaskSpray, State: texts.Due, Words: "Today", Why: "8 days after the last spray, as the course says."},
		{Date: "Sat 28 Nov", What: "Look again", Kind: screens.TaskCheck, State: texts.Later, Words: "Later", Why: "3 days after the spray."},
	}
	dataView = screens.DataView{
		Status: "2 could not be sent – see why", Entries: "1,204", Waiting: "3", Photos: "48 on this phone, 21.4 MB, 2 to send",
		Sending: texts.SendFree, Network: texts.NetworkCosts, Resting: 3,
		Digest: "5f2c 91aa 0e4d 7b3c", Vector: []screens.VectorRow{{Phone: "Mirek’s phone", Seq: "812"}, {Phone: "Jonna’s phone", Seq: "392"}}, Version: "0.1",
		Failed: []screens.FailedUpload{{ID: "u1", Title: "Calathea, Tue 24 Nov", Size: "812 kB", Reason: "The server is full. Free some space there, then try again.", Photo: &underside}},
	}
)

type example struct {
	name string
	spot screens.Spot
	node h.Node
}

// examples is every screen with something on it, and its empty state.
func examples(t *texts.Catalogue) []example {
	return slices.Concat(startExamples(t), workExamples(t), houseExamples(t), aheadExamples(t), reminderExamples(t), photoExamples(t))
}

func startExamples(t *texts.Catalogue) []example {
	return append(memberExamples(t), []example{
		{"welcome", "", screens.Welcome(t, screens.WelcomeView{Setup: "tok", PhoneName: "Phone"})},
		{"welcome-nolink", "", screens.Welcome(t, screens.WelcomeView{})},
		{"join", "", screens.Join(t, screens.JoinView{Invitation: "inv", Household: "Number 12", Role: "Helper", RoleHint: t.Words.RoleHint[model.Helper], PhoneName: "Phone"})},
		{"first", "", screens.First(t, screens.FirstView{Household: "Number 12", Places: places, Added: rows[:1], Wanted: 3})},
		{"today", screens.SpotToday, screens.Today(t, todayView())},
		{"today-free", screens.SpotToday, screens.Today(t, screens.TodayView{Date: "Wednesday 25 November", Plants: 4, Sample: true})},
		{"today-new", screens.SpotToday, screens.Today(t, screens.TodayView{Date: "Wednesday 25 November"})},
		{"today-mine", screens.SpotToday, screens.Today(t, screens.TodayView{Date: "Wednesday 25 November", Plants: 14, Shown: screens.ShowMine, Hidden: 2})},
		{"today-guest", screens.SpotToday, screens.Today(t, guestView())},
		{"confirm", screens.SpotToday, screens.Confirm(t, screens.ConfirmView{
			Tasks: []string{"t1"}, Action: "Spray 3 plants", Plants: spray.Plants, Place: "Living room sill", Product: "Potash soap (invented)",
			Mix: "360 ml of spray", MixHow: "7.2 ml in 360 ml of water", AmountMl: 360, Cautions: cautions,
			OwnLabel: []string{"Keep away from fish."}, Warnings: []string{"Fern: last watered 12 days ago. Water first, treat later."}, Sensitive: []string{"Calathea"},
		})},
		{"confirm-blocked", screens.SpotToday, screens.Confirm(t, screens.ConfirmView{
			Tasks: []string{"t1"}, Action: "Spray 1 plant", Product: "Potash soap (invented)", Cautions: cautions, Blocked: []string{"The label asks for at least 7 days after Tue 24 Nov."},
		})},
	}...)
}

func todayView() screens.TodayView {
	second := spray
	second.ID, second.Action, second.Plants, second.Amount = "t5", "Spray 1 plant", []screens.Named{{ID: "p9", Name: "String of hearts"}}, "120 ml of spray"
	later := spray
	later.ID, later.Later, later.State, later.DueWords = "t6", true, texts.Soon, "Thu 26 Nov"
	return screens.TodayView{
		Date: "Wednesday 25 November", Plants: 14, Shown: screens.ShowEverybody,
		Breaches: []screens.BreachView{{Product: "Potash soap (invented)", Plants: "Fern", Words: t0.Tasks.Breach[texts.TooClose], Label: t0.Tasks.Want(texts.TooClose, 7), Next: "Next spray not before Sun 29 Nov.", Times: []screens.FlagTime{{By: "Jonna", When: "Sun 22 Nov · 08:10"}}}},
		Shares:   []string{"Jonna: 7 tasks", "Mirek: 6 tasks"},
		Flags: []screens.FlagView{{
			Task: "t0", Action: "Spray 3 plants, Kitchen shelf", Plants: "Basil, Mint and Parsley", Fact: "d2-9",
			Times:   []screens.FlagTime{{By: "Mirek", When: "Tue 24 Nov, 18:05"}, {By: "Jonna", When: "Tue 24 Nov, 19:40"}},
			Meaning: t0.Story.FlagMeaning, NextDate: "Next spray not before Tue 1 Dec.",
		}},
		Overdue:  []screens.Batch{{ID: "t2", Tasks: []screens.TaskView{look}}},
		Due:      []screens.Batch{{ID: "b1", Product: "Potash soap (invented)", Place: "Living room sill", Mix: "480 ml", MixHow: "9.6 ml in 480 ml of water", Tasks: []screens.TaskView{spray, second}}, {ID: "t3", Tasks: []screens.TaskView{walk}}},
		Done:     []screens.DoneView{{Action: "Round: Kitchen shelf", Plants: "5 plants, nothing found", By: "Jonna, 08:15"}},
		Tomorrow: []screens.Batch{{ID: "t6", Tasks: []screens.TaskView{later}}},
		Week:     []screens.DayView{{Date: "Sat 28 Nov", Batches: []screens.Batch{{Tasks: []screens.TaskView{look}}}}, {Date: "Sun 29 Nov", Batches: []screens.Batch{{Tasks: []screens.TaskView{walk, spray}}}}},
	}
}

// guestView is a guest's: nothing that a guest may not do is offered.
func guestView() screens.TodayView {
	flag := todayView().Flags[0]
	flag.Fact = ""
	return screens.TodayView{Date: "Wednesday 25 November", Plants: 14, Guest: true, Flags: []screens.FlagView{flag}}
}

var t0 = texts.English()

func workExamples(t *texts.Catalogue) []example {
	return []example{
		{"rounds", screens.SpotRound, screens.Rounds(t, screens.RoundsView{Places: []screens.RoundPlace{
			{ID: "pl1", Name: "Living room sill", State: texts.Overdue, DueWords: "Since Mon 23 Nov", Plants: 6, Rhythm: "Weekly", Last: t.Round.Last("Mirek", "Mon 16 Nov")},
			{ID: "pl3", Name: "Bedroom", State: texts.Due, DueWords: "Today", Plants: 3, Rhythm: "Weekly", Running: true, Done: 1, Last: t.Round.Last("Jonna", "Wed 18 Nov")},
			{ID: "pl2", Name: "Kitchen shelf", State: texts.Done, DueWords: "Done", Plants: 5, Rhythm: "Every two weeks", Last: t.Round.Last("Jonna", "today")},
		}})},
		{"rounds-empty", screens.SpotRound, screens.Rounds(t, screens.RoundsView{})},
		{"step", screens.SpotRound, screens.Step(t, screens.StepView{
			Place: "pl1", PlaceName: "Living room sill", N: 2, Of: 6, Plant: fern, Name: "Big monstera", Species: "Monstera deliciosa", Standing: texts.Watch, Risk: t.LookFirst.NearOutbreak("Thrips", "Mon 16 Nov"), Parts: model.PartsOf(model.Underside, model.NewGrowth), Confirms: "underside and new growth",
			Photo: &underside, Last: "Fri 20 Nov: underside, pale speckling; 2 young", LookAt: t.LookAt.Pest[model.PestThrips],
		})},
		{"step-affected", screens.SpotRound, screens.Step(t, screens.StepView{
			Place: "pl1", PlaceName: "Living room sill", N: 6, Of: 6, Plant: "p2", Name: "Calathea", Species: "Goeppertia orbifolia", Standing: texts.Quarantined,
			Affected: t.Round.Affected("Quarantined"), Last: "Not looked at yet", LookAt: t.LookAt.Any,
		})},
		{"wash", screens.SpotRound, screens.Wash(t, screens.WashView{Place: "pl1", PlaceName: "Living room sill", N: 5, Of: 6, Next: []string{"Hoya on the hook", "Calathea"}})},
		{"rounddone", screens.SpotRound, screens.RoundDone(t, screens.RoundDoneView{PlaceName: "Living room sill", Looked: 5, Found: spray.Plants[:1], Apart: spray.Plants[1:2], Skipped: spray.Plants[2:], Next: "The next round here: Wed 2 Dec.", Other: places[2:]})},
		{"rounds-first", screens.SpotRound, screens.Rounds(t, screens.RoundsView{First: atRisk(t), Places: []screens.RoundPlace{
			{ID: "pl1", Name: "Living room sill", State: texts.Due, DueWords: "Today", Plants: 6, Rhythm: "Weekly"},
		}})},
		{"finding-identify", screens.SpotRound, screens.Finding(t, screens.FindingView{Plant: fern, Name: "Big monstera", Identify: suspects("")})},
		{"finding-unsigned", screens.SpotRound, screens.Finding(t, screens.FindingView{Plant: fern, Name: "Big monstera", Identify: &screens.IdentifyView{Plant: fern}})},
		{"after-identify", screens.SpotRound, screens.After(t, screens.AfterView{Plant: fern, Name: "Big monstera", Finding: "d1-41", Summary: "Underside: silvery patches; 4 young", Next: screens.PlantRoute(fern), Identify: suspects("d1-41")})},
		{"finding", screens.SpotRound, screens.Finding(t, screens.FindingView{Plant: fern, Name: "Big monstera", Place: "pl1", Where: "Living room sill"})},
		{"after-guest", screens.SpotRound, screens.After(t, screens.AfterView{Plant: fern, Name: "Big monstera", Finding: "d1-41", Summary: "Underside: 4 young", Guest: true, Next: screens.PlantRoute(fern)})},
		{"after", screens.SpotRound, screens.After(t, screens.AfterView{Plant: fern, Name: "Big monstera", Place: "pl1", Finding: "d1-41", Summary: "Underside: pale speckling and black specks; 4 young and 1 adult", Photos: []screens.Photo{underside}, Outbreaks: []screens.Named{{ID: "o1", Name: "Thrips"}}, Guess: model.PestThrips, Next: screens.RoundRoute("pl1")})},
		{"plants", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Groups: []screens.PlantGroup{{Place: sill, Plants: rows, Water: true}, {Place: places[1], Plants: []screens.PlantRow{{ID: "p4", Name: "Basil", Standing: texts.Lost}}}}})},
		{"plants-nomatch", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Query: "palm"})},
		{"plants-empty", screens.SpotPlants, screens.Plants(t, screens.PlantsView{})},
		{"plantform", screens.SpotPlants, screens.PlantForm(t, screens.PlantFormView{Places: places})},
		{"plantform-edit", screens.SpotPlants, screens.PlantForm(t, screens.PlantFormView{Plant: fern, Name: "Big monstera", Species: "Monstera deliciosa", Place: "pl2", Places: places, Note: "From the market.", Sensitive: true, Thin: true, Mother: "p2", Mothers: []screens.Named{{ID: "p2", Name: "Calathea"}}, Problem: t.Say.NeedName})},
		{"plant", screens.SpotPlants, screens.Plant(t, screens.PlantView{
			ID: fern, Name: "Big monstera", Species: "Monstera deliciosa", Place: sill, Standing: texts.InTreatment, Why: "Thrips. Next: spray tomorrow.", Photo: &underside, Sensitive: true, Isolated: true, Outdoors: true, Parts: model.PartsOf(model.Underside), Confirms: "underside",
			Outbreaks: []screens.Named{{ID: "o1", Name: "Thrips"}}, Places: places, Timeline: timeline, Older: true, Note: "Bought in spring, repotted in May.",
			Conflicts: []screens.Conflict{{Record: "5." + fern, Key: "1", Field: "Name", Decide: true, Values: []screens.ConflictValue{
				{Write: "d1.41", Value: "Big monstera", By: "Mirek, Tue 24 Nov, 18:42"}, {Write: "d2.17", Value: "Monstera", By: "Jonna, Tue 24 Nov, 18:40"}}}},
		})},
		{"plant-new", screens.SpotPlants, screens.Plant(t, screens.PlantView{ID: "p7", Name: "Mint", Place: sill, Standing: texts.Clear, Edible: true, Places: places})},
		{"plant-guest", screens.SpotPlants, screens.Plant(t, screens.PlantView{ID: "p7", Name: "Mint", Place: sill, Standing: texts.Clear, Guest: true, Places: places})},
		{"photo", screens.SpotPlants, screens.PhotoScreen(t, screens.PhotoView{Photo: underside, Caption: "Big monstera, Tue 24 Nov", Back: screens.PlantRoute(fern), BackTo: "Big monstera"})},
	}
}

func houseExamples(t *texts.Catalogue) []example {
	course := screens.CourseView{Summary: "Potash soap (invented), 4 sprays, every 8 days", By: "Accepted by Mirek, Mon 16 Nov", Basis: t.Course.Practice, Days: courseDays}
	return []example{
		{"outbreaks", screens.SpotOutbreaks, screens.Outbreaks(t, screens.OutbreaksView{
			Open:  []screens.OutbreakRow{{ID: "o1", Name: "Thrips", Since: "Since Wed 4 Nov", Plants: 3, Next: "Spray today"}},
			Ended: []screens.OutbreakRow{{ID: "o2", Name: "Fungus gnats", Since: "Closed on Sun 20 Sep", Plants: 2}},
		})},
		{"outbreaks-empty", screens.SpotOutbreaks, screens.Outbreaks(t, screens.OutbreaksView{})},
		{"outbreak", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{ID: "o1", Name: "Thrips", Pest: model.PestThrips, Since: "Since Wed 4 Nov", Plants: rows[:3], Course: &course, Findings: timeline[:1], Applications: timeline[1:2], CanClose: true})},
		{"outbreak-nocourse", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{ID: "o1", Name: "Not sure yet", Since: "Since today", Plants: rows[:1]})},
		{"outbreak-guest", screens.SpotOutbreaks, screens.Outbreak(t, screens.OutbreakView{ID: "o1", Name: "Thrips", Since: "Since today", Plants: rows[:1], CanClose: true, Guest: true})},
		{"course", screens.SpotOutbreaks, screens.CourseForm(t, screens.CourseFormView{
			Outbreak: "o1", Name: "Thrips", Plants: 3, Products: []screens.Named{{ID: "pr1", Name: "Potash soap (invented), 20 ml per litre"}}, Product: "pr1",
			Interval: 8, Least: 7, Most: 10, Applications: 4, First: "2026-11-26", Today: "2026-11-25", Check: 3, Isolate: true,
			Preview: screens.PreviewView{Dates: courseDays[2:], Total: "28.8 ml", Stock: "20 ml", Short: t.Course.Short("8.8 ml"), Limits: []string{"Shortest time between sprays: 7 days", "Most in one season: 6"}, Cautions: cautions[:1]},
		})},
		{"course-noproduct", screens.SpotOutbreaks, screens.CourseForm(t, screens.CourseFormView{Outbreak: "o1", Name: "Thrips"})},
		{"household", screens.SpotHousehold, screens.Household(t, screens.HouseholdView{
			Name: "Number 12", CanInvite: true,
			Members:  []screens.MemberRow{{ID: "m1", Name: "Mirek", Role: "Keeper", Me: true, Phones: []string{"Mirek’s phone, this one"}}, {ID: "m2", Name: "Jonna", Role: "Helper", Phones: []string{"Jonna’s phone, last heard 14:02", "Tablet, last heard Sun 22 Nov"}}},
			Products: []screens.ProductRow{{ID: "pr1", Name: "Potash soap (invented)", Means: "Soap spray", Stock: "180 ml left"}},
			Places:   []screens.PlaceRow{{ID: "pl1", Name: "Living room sill", Rhythm: "Weekly", Plants: 6, Warmth: t.Place.Between("19 °C", "24.5 °C")}, {ID: "pl2", Name: "Kitchen shelf", Rhythm: "Every two weeks", Plants: 5}},
			Data:     dataView,
		})},
		{"household-new", screens.SpotHousehold, screens.Household(t, screens.HouseholdView{Name: "Sample house", Sample: true, Data: screens.DataView{Status: "Sample – nothing is shared", Sample: true, Digest: "00ff"}})},
		{"invite", screens.SpotHousehold, screens.Invite(t, screens.InviteView{Household: "Number 12", Role: model.Helper})},
		{"invite-ready", screens.SpotHousehold, screens.Invite(t, screens.InviteView{Household: "Number 12", Role: model.Helper, Link: link, Expires: t.Invite.Expires("14:32")})},
		{"placeform", screens.SpotHousehold, screens.PlaceForm(t, screens.PlaceFormView{Place: "pl1", Name: "Living room sill", Rhythm: 14, Coldest: "19", Warmest: "24.5", Card: model.BlueCard})},
		{"placeform-guest", screens.SpotHousehold, screens.PlaceForm(t, screens.PlaceFormView{Place: "pl1", Name: "Living room sill", Rhythm: 14, Guest: true})},
		{"placeform-new", screens.SpotHousehold, screens.PlaceForm(t, screens.PlaceFormView{})},
		{"productform-guest", screens.SpotHousehold, screens.ProductForm(t, screens.ProductFormView{Product: "pr1", Guest: true, Name: "Potash soap (invented)", Means: model.MeansSoap, Unit: model.RateMlPerLitre, Rate: "20", Interval: "7", Reentry: "2", Cautions: "Keep away from fish.", Edible: true})},
		{"productform-new", screens.SpotHousehold, screens.ProductForm(t, screens.ProductFormView{})},
		{"productform", screens.SpotHousehold, screens.ProductForm(t, screens.ProductFormView{Product: "pr1", Name: "Potash soap (invented)", Means: model.MeansSoap, Active: "Potassium salts of fatty acids", Unit: model.RateMlPerLitre, Rate: "20", PerPlant: "120", Interval: "7", Reentry: "2", MaxHeat: "30", InRow: "3", Site: model.SiteNamed, Pests: "Aphids, thrips, spider mites", Cautions: "Keep away from fish.", Stock: "180"})},
		{"data", screens.SpotHousehold, screens.DataScreen(t, dataView)},
		{"poisoned", screens.SpotHousehold, screens.Poison(t)},
		{"problem", screens.SpotToday, screens.Problem(t, screens.ProblemView{Happened: "The entries on this phone could not be read.", Safe: "Nothing was deleted. What was shared is on the server.", Do: "Close the other tabs and open the app again.", Route: screens.RouteToday, Label: "Try again"})},
	}
}
