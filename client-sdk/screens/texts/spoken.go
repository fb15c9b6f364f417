package texts

import "leafturn/model"

// Agenda are the names of tasks and the reasons for their dates.
type Agenda struct {
	Spray, Check, Apart func(n int) string // how many plants
	Round               func(place string) string

	WhyFirst   func(day string) string
	WhySpray   func(days, last string) string  // the course's interval and the last application
	WhyLabel   func(days, last string) string  // the label's shortest interval moved the date
	WhyCheck   func(days, spray string) string // days after an application
	WhyRound   func(rhythm, last string) string
	WhyNever   func(rhythm string) string // a place that was never walked
	WhyApart   string
	WhyPutOff  func(member, reason string) string
	Practice   string // marks the interval as common practice without a source
	Today      string
	Since      func(day string) string
	ClaimedBy  func(member, until string) string
	ClaimedMe  func(until string) string
	DoneBy     func(member, clock string) string
	Reentry    func(until string) string
	HeldBack   func(until string) string // a task that touches a plant waits
	MixHow     func(product, water string) string
	Ready      string // ready to use, nothing to mix
	NoAmount   string // the shelf does not say how much a plant takes
	PutOffTill func(day string) string
}

// Story is how a plant's timeline tells what happened.
type Story struct {
	LookedClean    string
	Found          string
	Treated        func(product string) string
	On             func(parts string) string // where the spray went
	Damage         func(step int, words string) string
	By             func(member, clock string) string
	ByBoth         func(a, b string) string
	PhotoOf        func(plant, day string) string
	FlagMeaning    string
	FlagNext       func(day string) string
	LastClean      func(day string) string
	LastFinding    func(day, what string) string
	NeverLooked    string
	WhyWatch       func(day string) string
	WhyQuarantined func(day string) string
	WhyTreatment   func(outbreak, next string) string
	WhyClear       func(day string) string
}

// Say are the short words after an action.
type Say struct {
	NothingFound, FindingSaved, Skipped, PlantAdded, Isolated, Released, Gone, WentOut, BackIn         func(plant string) string
	Moved                                                                                              func(plant, place string) string
	TaskDone, Claimed, Settled, Withdrawn, Undone, Copied, Saved                                       string
	CourseAccepted, PlanAccepted, OutbreakOpened, OutbreakClosed, CutCameIn, SampleLeft, UploadDropped string
	PutOff                                                                                             func(day string) string
	Stumbled                                                                                           string // nobody expected what went wrong
	Synced, NoNetwork, NotSaved, NeedName, NeedPlace, NeedSigns, NeedNumber, NeedChoice                string
}

// Cautions are shown before a treatment is confirmed.
type Cautions struct {
	First    []string                 // before all others
	Means    map[model.Means][]string // by how the product works
	People   []string
	Food     string // for a plant that is eaten
	NotFood  string // the label does not name food plants
	Heat     func(celsius int) string
	Outdoors string
}

// LookAt says where to look for a pest.
type LookAt struct {
	Any  []string
	Pest map[model.Pest][]string
}
