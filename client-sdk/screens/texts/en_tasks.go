package texts

// The rhythms named here are common practice without a source, and say so; three
// weeks apart is Colorado State University Extension, fact sheet 5.595. The days
// without run-through are those of a label of granules; the label in the hand wins.
func enTasks(c *Catalogue) {
	enTaskKinds(&c.Tasks)
	enTaskReasons(&c.Tasks)
	enTaskCare(&c.Tasks)
	c.Tasks.Turn, c.Tasks.Watered, c.Tasks.WaterSaid = "Your turn", "Watered", "Noted: watered"
	c.Tasks.ByHand = "Rinsed, wiped, pruned, repotted"
	c.Tasks.ByHandWords = "Noting it ends the task that asked for it. A newly potted plant is weak for two weeks: sprays are warned of."
	c.Tasks.ApartUntil = func(since, until string) string {
		return "Apart since " + since + ". A look is due on " + until + "; it ends when you set it back after that."
	}
	c.Tasks.AnywayTitle, c.Tasks.Anyway = "It was done already", "Note it all the same"
	c.Tasks.AnywayWords = "Then note it, so that everybody knows and every limit counts it."
	c.Tasks.GuestOutbreak = "The others see this finding and decide whether it is an outbreak, and what to do."
	c.Tasks.CardHere, c.Tasks.NoCard = "Does a sticky card hang here?", "None"
	c.Tasks.Bought = "Noted. How much is left on the shelf now?"
	c.Tasks.EndApart = "Nothing was found, and the time apart is over. When it stands among the others again, say so."
	c.Tasks.HeatTitle, c.Tasks.Coldest, c.Tasks.Warmest = "How warm was it?", "Coldest", "Warmest"
	c.Tasks.HeatWords = "Read from a thermometer. For two weeks it counts instead of what is usual here: dates follow it, and a spray that the label forbids in such heat is warned of."
	c.Tasks.HeatSaid = "Noted. Dates follow it"
	c.Tasks.GiveBack, c.Tasks.GaveBack = "Give it back", "Given back"
	c.Tasks.Shares = "Done in the last four weeks"
	c.Tasks.TurnOf = func(member string) string { return member + "’s turn" }
	c.Tasks.Share = func(member string, n int) string { return member + ": " + count(n, "task", "tasks") }
	c.Tasks.BreachTitle = "A limit of the label was not kept"
	c.Tasks.Breach = map[Breach]string{
		TooClose:  "These treatments came closer together than the label allows.",
		TooMany:   "This is more often in a year than the label allows.",
		NotOnFood: "The label does not name food plants, and one of these is eaten.",
	}
	c.Tasks.BreachNow = "Do not treat again now. Keep the plants out of the sun, look at their leaves in the next days, and read the label. Eat nothing from them unless the label says when you may."
	c.Tasks.Want = func(kind Breach, n int) string {
		switch kind {
		case TooClose:
			return "The label: at least " + count(n, "day", "days") + " apart."
		case TooMany:
			return "The label: at most " + count(n, "time", "times") + "."
		}
		return ""
	}
}

func enTaskKinds(t *Tasks) {
	t.Soil = func(n int) string { return "Treat the soil of " + count(n, "plant", "plants") }
	t.Rinse = func(n int) string { return "Rinse " + count(n, "plant", "plants") }
	t.Wipe = func(n int) string { return "Wipe " + count(n, "plant", "plants") }
	t.Prune = func(n int) string { return "Cut off badly damaged leaves of " + count(n, "plant", "plants") }
	t.TryLeaf = func(n int) string { return "Try one leaf of " + count(n, "plant", "plants") }
	t.CardRead = func(place string) string { return "Read the sticky card: " + place }
	t.CardNew = func(place string) string { return "Hang a new card: " + place }
	t.Quarantine = func(plant string) string { return "Look before " + plant + " joins the others" }
	t.Measure = func(plant string) string { return "Photograph the same leaf: " + plant }
	t.Maintain = func(pest string, n int) string {
		return "Look again at " + count(n, "plant", "plants") + " after " + lowerFirst(pest)
	}
	t.Buy = func(product string) string { return "Buy " + product }
}

func enTaskReasons(t *Tasks) {
	const practice = " Common practice, no source."
	t.Found = func(day string) string { return "Found on " + day + "." }
	t.Opened = func(day string) string { return "The outbreak began on " + day + "." }
	t.Closed = func(day string) string { return "The outbreak ended on " + day + "." }
	t.Accepted = func(member, day string) string { return member + " accepted the course on " + day + "." }
	t.After = func(days, last string) string { return days + " after the step of " + last + ", as the course says." }
	t.Season = func(times, day string) string {
		return "The label’s most in a year, " + times + ", is reached: moved to " + day + "."
	}
	t.Touch = func(day string) string { return "The plants may be touched again on " + day + "." }
	t.PestNear = func(pest, days string) string {
		return pest + " at this place: a look every " + days + "." + practice
	}
	t.WarmAndFast = func(pest, celsius, days string) string {
		return pest + " breed fast at " + celsius + ": a look every " + days + "." + practice
	}
	t.Cut = func(day, days string) string {
		return "Cut flowers or produce came on " + day + ": a look " + days + " later." + practice
	}
	t.WithWater = "On the day on which the place is watered anyway."
	t.CardHangs = "Nobody has read this card yet."
	t.CardLast = func(day, days string) string {
		return "Last read on " + day + ". A card is read every " + days + "." + practice
	}
	t.CardHung = func(day, days string) string {
		return "It hangs since " + day + " at least. A card lasts about " + days + "." + practice
	}
	t.CameIn = func(day string) string { return "It came in on " + day + "." }
	t.SetApart = func(day string) string { return "Set apart on " + day + "." }
	t.ApartFor = func(days string) string { return "Plants stay apart for " + days + " at least." }
	t.LastLook = func(day string) string { return "Last looked at on " + day + "." }
	t.Rhythm = func(days string) string { return "After an outbreak, a look every " + days + "." + practice }
	t.RunsOut = func(have, want, day string) string {
		return "The shelf holds " + have + ". Up to " + day + " the courses need " + want + "."
	}
	t.Damaged = func(day string) string {
		return "The look of " + day + " saw much damage. Such leaves do not recover and shelter the pest: bag them, and clean the blade between plants." + practice
	}
	t.Measured = func(day string) string { return "A leaf was measured on " + day + "." }
	t.SameLeaf = func(day string) string { return "The same leaf again with the look of " + day + "." }
	t.Best = func(first, last string) string { return "Best from " + first + " to " + last + "." }
	t.By = func(last string) string { return "At the latest on " + last + "." }
}

func enTaskCare(t *Tasks) {
	t.OnDryMix = "Only into dry soil: check with a finger first."
	t.NotBoneDry = "Not on bone-dry soil: water a little first."
	t.WetMix = func(plants, day string) string {
		return plants + " had water on " + day + ". Wait until the soil is dry."
	}
	t.WaterIn = func(days, times string) string {
		return "Water it in. Then let no water run out of the pot for " + days + " or " + times + ", whichever is longer. The label wins."
	}
	t.HoldWater = func(plants, day string) string {
		return plants + ": water only so much that none runs out of the pot before " + day + "."
	}
	t.TooWarm = func(celsius string, most int) string {
		return "It is " + celsius + " there. The label says: not above " + itoa(most) + " °C."
	}
	t.MaybeTreated = func(plants, member, day string) string {
		return plants + ": " + member + " said to do it on " + day + " and has not been heard from since. Ask first."
	}
	t.TheirTurn = func(plants, member, day string) string {
		return plants + ": it was the turn of " + member + " from " + day + ", and nothing has been heard since. It may be done. Ask first."
	}
	t.Thirsty = func(plants, days string) string {
		return plants + ": last watered " + days + " ago. Water first, treat later."
	}
	t.NoLabel = "This product’s label is not on the shelf here, so no limit of it is known. Read the label first."
	t.NotThere = "One of the plants is gone, or not known on this phone."
	t.Tender = func(plants string) string { return plants + ": weak or newly potted. Leaves can burn." }
	t.InRow = func(plants, times string) string {
		return plants + ": " + times + " in a row. The label asks for another product now."
	}
}
