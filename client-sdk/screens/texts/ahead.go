package texts

import (
	"leafturn/model"
	"leafturn/model/plan"
)

// Ahead are the words that the pictures and lists of what lies ahead share.
type Ahead struct {
	Percent     func(chance float64) string // of a chance from 0 to 1; never says 0 or 100 unless it is
	Chance      func(chance float64) string // the same as a word
	Number      func(n float64) string      // of animals, rounded as far as it can be known
	Celsius     func(tenths int) string
	Weekday     func(weekday int) string // in three letters, 0 for Sunday
	DayMonth    func(day, month int) string
	Span        func(low, high string) string
	Assumptions string
	Stop        string
	GoOn        string
	Tried       func(done, of int) string // how far a long piece of work is
	Repeat      func(runs int, number string) string
}

// Forecast is the picture of what is expected.
type Forecast struct {
	Title, ChartTitle            string
	Unit                         func(plants string) string
	Drawn                        func(from, first, peakDay, peak, to, last, spread string) string // the picture in one sentence
	Today, Middle, Band, Counted string
	CountedOn                    func(n string) string
	Marks, Done                  string
	Beyond                       func(number, day string) string // the band leaves the picture
	Table, Day, Total, Spread    string
	Working, Stopped             string
	Course                       func(peakDay, peak, low, high string) string
	Falling                      func(day, low, high string) string
	Host                         string // an assumption: kinds of plants differ
	Warmth                       func(place, low, high string) string
	NoWarmth                     func(place, low, high string) string // assumed, since nobody has said
	Coverage                     string
	Arrivals                     string
	Worst                        func(plant string) string // the plant that stands for all
	Levels                       func(most string) string  // how many animals a plant can feed
	Untreated                    func(summary string) string
}

// Plans are the plans side by side.
type Plans struct {
	Title, Compare, OwnCourse         string
	Aim                               func(percent, day string) string
	Choices, ChoicesHint              string
	Children, Pets, NoChemicals       string
	ChildrenHint, PetsHint            string
	NoChemHint                        string
	Working, Stopped, NoneTitle, None string
	Reaches, Misses                   func(aim string) string
	ChanceOf                          string
	Applications, Last, Needed, Shelf string
	BuyBy                             func(day, amount string) string
	Dates                             func(n int) string
	Limits, Blocked, Relax            string
	Accept, Accepted                  string
	Fewest, Soonest, NoChem           string // the names of the plans
	FewestLead, SoonestLead           string
	NoChemLead                        string
	Count                             func(treatments, byHand, days int) string
	ProposalTitle, ProposalMore       string
	SeeOthers                         string
	ProposalChance                    func(was, now string) string
	ProposalCounted                   func(n, day string) string
	ProposalLate                      func(n int) string
	ProposalKnown                     string
	Same                              string // soonest over is the same course as another
	Over                              string
	Of                                func(amount, product string) string
	NoAmount                          func(product string) string
	NoStock                           string
	Step                              func(kind model.StepKind, plants int, product string) string
	Both                              func(byHand model.StepKind, spray string) string
	Why                               func(w model.StepWhy, product string) string
	Limit                             func(l plan.Limit) string
	Without                           func(limit, chance string) string
	RelaxBy                           func(l plan.Limit) string
	Held                              func(product, label, wanted string, guessed bool) string
	RefusedTitle                      string
	Refused                           func(product string, why plan.Refused, plants string) string
	NoTool, NoneReaches, Nearest      string
	Utmost                            func(chance string) string
	Subject                           func(plant string) string
	Alike, NoNewcomers                string
	Summary                           func(title, chance, aim string) string
}

// ClearGauge is the chance that the pest is gone.
type ClearGauge struct {
	Title, ChartTitle        string
	ChanceOf                 string
	Drawn                    func(percent, aim string) string
	Aim                      func(percent string) string
	More                     func(n int) string // clean looks that are missing
	Then                     func(percent string) string
	Enough, EnoughDo         string
	RestsOn, NoLooks, Honest string
	Subject                  func(plant string) string
	Looked                   func(member, parts string, found bool) string
	SamePerson, EmptyCard    string
	TrendTitle, TrendChart   string
	TrendSince               func(day string) string
	TrendDown, TrendUp       func(percent, low, high string) string
	TrendOpen                func(low, high string) string // too few counts to tell
	TrendNote                string
	TrendStep                map[int]string // by powers of two
}

// Identify is what it may be and what tells it apart.
type Identify struct {
	Title, None, NoneWords  string
	Waiting                 string // before any sign is chosen
	LookNext, LookNextHint  string
	Seen, NotSeen, NotAsked string
	Open                    string
	Note                    string
}

// Trace is where it came from and where it may have gone.
type Trace struct {
	Title, ChartTitle                   string
	Window                              func(from, to string) string
	Drawn                               func(from, to string, events int) string
	WindowShort, Found                  string
	Fits, NoFits                        string
	LookAt, Warn                        string
	WindowWhy                           func(plant, found, day, low, high string) string
	CameIn, Moved, Outdoors             func(plant string) string
	Beside, Handled, Cutting            func(plant, other string) string
	Flowers                             string
	WhyArrival, WhyOutdoors, WhySick    string
	WhyMoved, WhyHandled, WhyCutting    string
	WhyNew                              func(plant string) string
	WhyFlowers, WhyNeighbour, HandledOn func(days string) string
	IsCutting                           string
	Giver, Taker                        func(plant string) string
	FlowersGiver                        string
	WarnGiver, WarnTaker, Note          string
}

// LookFirst is the risk order among the plants.
type LookFirst struct {
	Title, Hint  string
	NearOutbreak func(outbreak, day string) string
	NearUnseen   func(outbreak string) string
	NewHere      func(day string) string
	Unseen       func(days string) string
	NeverSeen    string
	Thin         string
	Weak         string
}

// TrendSteps are the powers of two that the scale of a change may show.
var TrendSteps = []int{-5, -4, -3, -2, -1, 0, 1, 2, 3}
