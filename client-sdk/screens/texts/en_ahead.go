package texts

import (
	"math"
	"strconv"
	"strings"
	"time"
)

func enAheadAll(c *Catalogue) {
	c.Ahead = Ahead{
		Percent: enPercent, Chance: enChance, Number: enNumber,
		Celsius:     func(tenths int) string { return tenth(float64(tenths)/10) + " °C" },
		Weekday:     func(weekday int) string { return time.Weekday(weekday).String()[:3] },
		DayMonth:    func(day, month int) string { return itoa(day) + " " + time.Month(max(month, 1)).String()[:3] },
		Span:        func(low, high string) string { return low + " to " + high },
		Assumptions: "What this takes for granted", Stop: "Stop", GoOn: "Work it out",
		Tried: func(done, of int) string { return itoa(done) + " of " + itoa(of) },
		Repeat: func(runs int, number string) string {
			return "Worked out on this phone from " + count(runs, "run", "runs") + ", repeat number " + number + "."
		},
	}
	enForecast(c)
	enPlans(c)
	enClear(c)
	enIdentify(c)
	enTrace(c)
}

// enPercent says 0 and 100 only where it is so: a chance of 0.998 is not sure.
func enPercent(chance float64) string {
	switch n := math.Round(chance * 100); {
	case n >= 100 && chance < 1:
		return "over 99%"
	case n <= 0 && chance > 0:
		return "under 1%"
	default:
		return strconv.FormatFloat(n, 'f', 0, 64) + "%"
	}
}

// enChance puts a chance into a word. The steps are our own choice.
func enChance(chance float64) string {
	switch {
	case chance >= 0.95:
		return "very likely"
	case chance >= 0.75:
		return "likely"
	case chance >= 0.55:
		return "rather likely"
	case chance > 0.45:
		return "about even"
	case chance > 0.25:
		return "rather unlikely"
	case chance > 0.05:
		return "unlikely"
	}
	return "very unlikely"
}

// enNumber keeps one decimal below ten and two significant digits above a
// hundred: a forecast knows no more.
func enNumber(n float64) string {
	switch {
	case n < 10:
		return tenth(n)
	case n < 100:
		return strconv.FormatFloat(n, 'f', 0, 64)
	}
	unit := math.Pow(10, math.Floor(math.Log10(n))-1)
	return grouped(strconv.FormatFloat(math.Round(n/unit)*unit, 'f', 0, 64))
}

// grouped puts a comma before each three digits from the right.
func grouped(digits string) string {
	var b strings.Builder
	for i, d := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(d)
	}
	return b.String()
}

func enForecast(c *Catalogue) {
	c.Forecast = Forecast{
		Title: "What lies ahead", ChartTitle: "Forecast by life stage",
		Unit: func(plants string) string { return "Animals on " + plants + " in all" },
		Drawn: func(from, first, peakDay, peak, to, last, spread string) string {
			return "From about " + first + " on " + from + " to about " + last + " on " + to + ". The most is about " + peak + ", on " + peakDay + ". On the last day 8 of 10 runs lie at " + spread + "."
		},
		Today: "Today", Middle: "Middle of all runs", Band: "8 of 10 runs", Counted: "What you counted", CountedOn: func(n string) string { return "counted " + n },
		Marks: "Marked days", Done: "done",
		Beyond: func(number, day string) string {
			return "The band rises above the picture, to " + number + " on " + day + "."
		},
		Table: "The same as a table", Day: "Day", Total: "All", Spread: "8 of 10 runs",
		Working: "Working out the forecast", Stopped: "The forecast was stopped before it was ready.",
		Course: func(peakDay, peak, low, high string) string {
			return "Most around " + peakDay + ": about " + peak + ", with 8 of 10 runs between " + low + " and " + high + "."
		},
		Falling: func(day, low, high string) string {
			return "By " + day + " 8 of 10 runs lie between " + low + " and " + high + "."
		},
		Host: "How fast they grow differs by up to 30% between kinds of plants. The band includes that.",
		Warmth: func(place, low, high string) string {
			return place + " stays between " + low + " and " + high + ", as the household says."
		},
		NoWarmth: func(place, low, high string) string {
			return "Nobody has said how warm " + place + " is. Taken as " + low + " to " + high + "."
		},
		Coverage: "A spray reaches only where somebody noted that it went. Undersides that were missed stay missed.",
		Arrivals: "Now and then a new animal comes in from outside: one in about a year and a half, our judgement.",
		Worst: func(plant string) string {
			return "It is worked out for " + plant + ", where most animals were counted."
		},
		Levels: func(most string) string {
			return "Untreated they level off below " + most + " on one plant. That is our judgement of what a house plant feeds; it may be several times less or more, and the band does not include that. Leaves that fall and a plant that dies are not in it."
		},
		Untreated: func(summary string) string { return "If nobody does anything: " + lowerFirst(summary) },
	}
}

func enPlans(c *Catalogue) {
	c.Plans = Plans{
		Title: "Plans side by side", Compare: "Compare plans", OwnCourse: "Make a course by hand",
		Aim: func(percent, day string) string {
			return "Each aims at a chance of " + percent + " that it is over by " + day + "."
		},
		Choices: "What must be kept in mind?", ChoicesHint: "The plans follow at once.",
		Children: "Small children live here", ChildrenHint: "Then only what can be kept out of their reach while it is wet.",
		Pets: "Animals can reach the plants", PetsHint: "Cats, dogs, birds, fish, and bees at the window.",
		NoChemicals: "Nothing from a bottle", NoChemHint: "Only water, wiping, cutting and keeping apart.",
		Working: "Trying plans", Stopped: "Stopped. These are the best so far.",
		NoneTitle: "No plan yet", None: "The phone tries out many plans against the forecast and keeps the best of each kind.",
		Reaches: func(aim string) string { return "Reaches the aim of " + aim },
		Misses:  func(aim string) string { return "Stays below the aim of " + aim }, ChanceOf: "chance that this ends it",
		Applications: "To do", Last: "Last day", Needed: "Needed in all", Shelf: "On the shelf",
		BuyBy: func(day, amount string) string { return "Buy " + amount + " more by " + day + "." },
		Dates: func(n int) string { return count(n, "date", "dates") + ", and why" }, Limits: "Limits that bind",
		Blocked: "This is not possible", Relax: "What would make it possible",
		Accept: "Take this plan", Accepted: "This is your plan",
		Fewest: "Fewest treatments", FewestLead: "The fewest treatments with a product that reach the aim. Rinsing and wiping do the rest.",
		Soonest: "Soonest over", SoonestLead: "More work in fewer weeks.",
		NoChem: "Nothing from a bottle", NoChemLead: "Only water and hands, and more often.",
		Count: func(treatments, byHand, days int) string {
			parts := []string{"work on " + count(days, "day", "days")}
			if byHand > 0 {
				parts = append([]string{count(byHand, "rinse or wipe", "rinses or wipes")}, parts...)
			}
			if treatments > 0 {
				parts = append([]string{count(treatments, "treatment", "treatments")}, parts...)
			}
			return strings.Join(parts, ", ")
		},
		ProposalTitle: "The plan no longer reaches its aim", ProposalMore: "More was counted than the plan reckons with", SeeOthers: "See other plans",
		ProposalChance: func(was, now string) string {
			return "The chance that it ends the outbreak was " + was + " and is now " + now + "."
		},
		ProposalCounted: func(n, day string) string { return n + " animals were counted on " + day + "." },
		ProposalLate:    func(n int) string { return count(n, "step is", "steps are") + " late." },
		ProposalKnown:   "What has been noted since then changes the chance.",
		Same:            "No plan is over sooner than the one with the fewest treatments.", Over: "Likely over by",
		Of:          func(amount, product string) string { return amount + " of " + product },
		NoAmount:    func(product string) string { return product + ": the amount for one plant is not entered" },
		NoStock:     "What is left is not entered",
		NoneReaches: "No plan with what is on the shelf reaches the aim in time, so none is over sooner.",
		Nearest:     "It does not reach the aim. Of its kind it comes nearest.",
		Utmost: func(chance string) string {
			return "It does not reach the aim. Doing all that the labels allow would come to " + chance + " with far more work."
		},
		NoTool: "No product on the shelf may be used here. Below it says why for each.",
		Subject: func(plant string) string {
			return "It is worked out for " + plant + ", where most animals were counted. All plants are treated alike."
		},
		NoNewcomers:  "No new animals come in meanwhile: keep the plants apart.",
		Alike:        "Each spray wets all of the plant, undersides as well. Where it misses, the chance is lower.",
		RefusedTitle: "Not used, and why",
		Summary: func(title, chance, aim string) string {
			return title + ". The chance that it ends the outbreak was worked out as " + chance + ", the aim is " + aim + "."
		},
	}
	enPlanLimits(c)
}

func enClear(c *Catalogue) {
	c.Clear = ClearGauge{
		Title: "Is it over?", ChartTitle: "Chance that it is gone", ChanceOf: "chance that it is gone",
		Drawn: func(percent, aim string) string {
			return "The chance that none is left is " + percent + "; the aim is " + aim + "."
		},
		Aim: func(percent string) string { return "Aim " + percent },
		More: func(n int) string {
			if n == 0 {
				return "No clean look is missing"
			}
			return count(n, "more clean look", "more clean looks") + " would do"
		},
		Then:   func(percent string) string { return "then " + percent },
		Enough: "The aim is reached", EnoughDo: "You can close the outbreak. Rounds go on.",
		RestsOn: "What this rests on", NoLooks: "No clean look counts for this yet.",
		Subject: func(plant string) string {
			return "It is worked out for " + plant + ", where most animals were counted. It is not over before it is over on each plant."
		},
		Looked: func(member, parts string, found bool) string {
			what := "nothing found"
			if found {
				what = "found"
			}
			if parts == "" {
				return member + ": " + what
			}
			return member + ", " + parts + ": " + what
		},
		Honest:     "A clean look lowers the doubt, it never ends it.",
		SamePerson: "The same person at the same leaf on the same day is not a second look.",
		EmptyCard:  "An empty sticky card proves nothing for mites, mealybugs, scales and wingless aphids.",
		TrendTitle: "Is it working?", TrendChart: "Change since treatment, as a factor",
		TrendSince: func(day string) string { return "Counts since " + day + ", against those before." },
		TrendDown: func(percent, low, high string) string {
			return "About " + percent + " fewer, likely between " + low + " and " + high + " fewer."
		},
		TrendUp: func(percent, low, high string) string {
			return "About " + percent + " more, likely between " + low + " and " + high + " more."
		},
		TrendOpen: func(low, high string) string {
			return "Cannot be told yet: anything from " + low + " to " + high + " of what it was fits the counts."
		},
		TrendNote: "It does not say what caused the change: no plant here was left untreated to compare with.",
		TrendStep: map[int]string{-5: "1/32", -4: "1/16", -3: "1/8", -2: "1/4", -1: "1/2", 0: "same", 1: "×2", 2: "×4", 3: "×8"},
	}
}

func enIdentify(c *Catalogue) {
	c.Identify = Identify{
		Title: "What it may be", None: "None of these", NoneWords: "Water, light, feeding or age can look the same.",
		Waiting:  "Choose what it looks like, and this shows what it may be.",
		LookNext: "What tells them apart", LookNextHint: "Looking for it and not finding it helps as much.",
		Seen: "Seen", NotSeen: "Not seen", NotAsked: "Not looked",
		Open: "Nothing more to look at would tell them apart.",
		Note: "From what was noted, not from the photo. You decide.",
	}
}

func enTrace(c *Catalogue) {
	c.Trace = Trace{
		Title: "Where did it come from?", ChartTitle: "When it came in",
		Window: func(from, to string) string { return "It most likely came in between " + from + " and " + to + "." },
		Drawn: func(from, to string, events int) string {
			return "The likely time is from " + from + " to " + to + ", with " + count(events, "event", "events") + " of the household beside it."
		},
		WindowShort: "Likely time", Found: "Found",
		Fits: "What fits that time", NoFits: "No arrival, move or cutting of that time was noted.",
		LookAt: "Look at these next", Warn: "Whom to warn",
		WindowWhy: func(plant, found, day, low, high string) string {
			return "From every look at " + plant + ", the first finding of " + day + " (" + found + "), and how fast they grow at " + low + " to " + high + "."
		},
		CameIn:   func(plant string) string { return plant + " came in" },
		Moved:    func(plant string) string { return plant + " was moved" },
		Outdoors: func(plant string) string { return plant + " was outdoors" },
		Beside:   func(plant, other string) string { return plant + " stood beside " + other },
		Handled:  func(plant, other string) string { return plant + " was handled together with " + other },
		Cutting:  func(plant, other string) string { return plant + " was cut from " + other },
		Flowers:  "Flowers or produce came in",

		WhyArrival: "It came from outside, and may have brought it.", WhyOutdoors: "It was back by then.", WhySick: "The same pest was found there.",
		WhyMoved: "Plants at its new place may have had it unseen.", WhyHandled: "Hands and tools carry pests over.",
		WhyCutting: "A cutting brings what its mother plant has.",
		WhyNew: func(plant string) string {
			return "It came from outside, and stood at the same place as " + plant + "."
		},
		WhyFlowers:   func(days string) string { return "They stood at the same place for about " + days + "." },
		WhyNeighbour: func(days string) string { return "Stood at the same place for about " + days + " since then." },
		HandledOn:    func(day string) string { return "Was handled together with it on " + day + "." },
		IsCutting:    "It is a cutting of it.",
		Giver:        func(plant string) string { return "Where " + plant + " came from" },
		Taker:        func(plant string) string { return "Whoever has " + plant + " now" },
		FlowersGiver: "Where the flowers came from",
		WarnGiver:    "It may have come from there.", WarnTaker: "It may have gone there since.",
		Note: "What fits is not proof. Nobody is to blame.",
	}
	c.LookFirst = LookFirst{
		Title: "Look here first", Hint: "The plants at most risk, in any place.",
		NearOutbreak: func(outbreak, day string) string { return "Beside " + outbreak + ", last looked at " + day + "." },
		NearUnseen:   func(outbreak string) string { return "Beside " + outbreak + ", and nobody has looked at it yet." },
		NewHere:      func(day string) string { return "It, or flowers beside it, came in " + day + "." },
		Unseen:       func(days string) string { return "Nobody has looked for " + days + "." },
		NeverSeen:    "Nobody has looked at it yet.", Thin: "Thin leaves are taken first.", Weak: "It is weak already.",
	}
}
