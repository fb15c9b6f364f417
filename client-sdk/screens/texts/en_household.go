package texts

func enHousehold(c *Catalogue) {
	enConflict(c)
	enMembers(c)
	c.Household = Household{
		Under: "People, shelf, places and data", Members: "People and phones", Invite: "Invite a phone", KeepersInvite: "Keepers invite. Ask one of them.",
		Me:    func(name string) string { return name + " (you)" },
		Shelf: "Shelf", ShelfEmpty: "Nothing on the shelf yet. Take down a label once, and nobody works from memory later.",
		Places: "Places", PlacesEmpty: "No places yet. They come with the first plant.", Data: "Where the data is",
		LastHeard: func(phone, when string) string { return phone + ", last heard " + when },
	}
	c.Invite = Invite{
		Title: "Invite a phone", Role: "What may they do?", Make: "Make an invitation",
		ReadyTitle: "Scan this", CodeTitle: "Code with the invitation link", Scan: "Point the other phone’s camera at the code, or send the link.",
		Secret: "Whoever opens it first joins. Show it only to the person you mean.", Copy: "Copy the link",
		Expires:     func(clock string) string { return "Works once, until " + clock + "." },
		OnlyHere:    "This address leads only to the machine you are on now. For another phone, open Leafturn under an address that the phone can reach, and invite from there. The server’s first lines name three ways.",
		NeedsServer: "An invitation needs the server, and it cannot be reached right now. Nothing was made; try again when you are online.",
	}
	c.Place = Place{
		NewTitle: "Add a place", EditTitle: "Change the place", NameLabel: "Name", NameHint: "Such as Kitchen sill or Bedroom shelf.",
		RhythmLabel: "How often does somebody look?", RhythmHint: "Weekly while it is warm or something is wrong, otherwise every two weeks: common practice, no source.",
		Warmth: "How warm is it there in a day?", WarmthHint: "Pests grow faster where it is warm, so dates and forecasts follow it. Leave both empty if you do not know.",
		ColdestLabel: "Usual coldest", WarmestLabel: "Usual warmest", Celsius: "°C",
		Between:  func(coldest, warmest string) string { return coldest + " to " + warmest },
		CutTitle: "Cut flowers or produce", CutWords: "They bring pests in as plants do. Keep them in another room than your plants if you can: common practice, no source. Noting them makes the plants here be looked at sooner, and helps to trace a pest.", Cut: "Some came in here today",
	}
	c.Product = Product{
		NewTitle: "Add a product", EditTitle: "Change the product", Lead: "Take it down from the label in your hand. What the label does not say stays empty.",
		What: "What it is", Amounts: "Amounts", Limits: "Limits on the label", Words: "In the label’s words",
		NameLabel: "Name", NameHint: "As it stands on the container.", MeansLabel: "How it works",
		ActiveLabel: "Active ingredient", ActiveHint: "The substance that acts, with its share if the label gives one.",
		GroupLabel: "Mode-of-action group", GroupHint: "The number on the label, empty if there is none.",
		UnitLabel: "How the label gives the rate", RateLabel: "Rate", RateHint: "Product in one litre of water. Leave it empty if ready to use.", PerLitre: "per litre",
		PerPlantLabel: "Spray for one plant", PerPlantHint: "Your own estimate of the mixed spray that one plant takes.",
		StockLabel: "Left on the shelf", StockHint: "Undiluted.", StockUnit: "ml or g",
		LimitsHint:    "Empty means that the label does not say.",
		IntervalLabel: "Shortest time between sprays", SeasonLabel: "Most in one season", ReentryLabel: "Do not touch for",
		ReentryHint: "Tasks that touch the plant wait that long.", MaxHeatLabel: "Not above",
		InRowLabel: "Most in a row", InRowHint: "Before another mode of action must come.",
		SiteLabel: "Does the label name plants indoors?", SiteHint: "If nobody says, the words of the label decide, and where they say nothing no plan uses it.",
		Days: "days", Times: "times", Hours: "hours", Celsius: "°C",
		PestsLabel: "Pests that the label names", PestsHint: "A product is meant only for what stands there.", CautionsLabel: "Cautions", CautionsHint: "Shown before every treatment, one per line.",
		EdibleLabel: "The label names food plants", EdibleHint: "Only then is it offered for plants you eat from.",
		RemoveTitle: "Off the shelf", RemoveWords: "It is no longer offered. Treatments already noted keep its name.", Remove: "Take it off the shelf",
	}
	c.Data = Data{
		Entries: "Entries", Waiting: "Waiting", Photos: "Photos", SyncNow: "Send and fetch now", Details: "For comparing two phones",
		Digest: "Digest", DigestHint: "Phones with the same entries show the same digest. Below it, how far this phone knows each phone’s entries.", Version: "Version",
		Failed:     func(n int) string { return count(n, "photo", "photos") + " could not be sent" },
		FailedSafe: "They are safe on this phone. Nothing is dropped by itself.",
		Retry:      "Try again", SaveCopy: "Save a copy", DropTitle: "Drop it", Drop: "Drop the photo",
		DropWords:   "The photo is deleted from this phone and nobody else has it. The entry stays.",
		SampleWords: "Leaving deletes the sample from this phone. A real household is not touched.",
		PhotosHeld: func(n, waiting int, size string) string {
			s := itoa(n) + " on this phone, " + size
			if waiting > 0 {
				s += ", " + itoa(waiting) + " to send"
			}
			return s
		},
	}
	c.Poison = Poison{
		Title:     "Someone may be poisoned",
		Emergency: "If someone collapses, has a fit or cannot breathe: call the emergency number first.",
		Steps: []string{
			"Take the container in your hand.",
			"Follow the first-aid box on its label.",
			"Call your country’s poison centre now and read the label to them. Its number may be on the label too.",
			"For an animal, call the vet and read the label to them.",
		},
		NumbersTitle: "Numbers by country", NumbersWords: "Each answers in its own country only. If yours is not here, ask the emergency number.",
		Numbers: []PoisonNumber{
			{"Austria", "+43 1 406 43 43", "Gesundheit Österreich, goeg.at"},
			{"United States", "1-800-222-1222", "Health Resources and Services Administration, poisonhelp.hrsa.gov"},
		},
		Limits: "This app cannot judge poisoning and gives no advice on dose or antidote.",
	}
	c.Problem = Problem{Title: "Something went wrong", Happened: "What happened", Safe: "What is safe", Do: "What to do"}
}

func enSpoken(c *Catalogue) {
	c.Agenda = Agenda{
		Spray: func(n int) string { return "Spray " + count(n, "plant", "plants") },
		Check: func(n int) string { return "Look again at " + count(n, "plant", "plants") },
		Apart: func(n int) string { return "Set " + count(n, "plant", "plants") + " apart" },
		Round: func(place string) string { return "Round: " + place },

		WhyFirst: func(day string) string { return "The course begins on " + day + "." },
		WhySpray: func(days, last string) string {
			return days + " after the spray on " + last + ", as the course says."
		},
		WhyLabel: func(days, last string) string { return "The label asks for at least " + days + " after " + last + "." },
		WhyCheck: func(days, spray string) string {
			return days + " after the spray on " + spray + ": what still moves was missed."
		},
		WhyRound:   func(rhythm, last string) string { return rhythm + ", last walked on " + last + "." },
		WhyNever:   func(rhythm string) string { return rhythm + ", never walked so far." },
		WhyApart:   "The course keeps the affected plants apart.",
		WhyPutOff:  func(member, reason string) string { return "Put off by " + member + ": " + reason + "." },
		Practice:   "The interval of 7 to 10 days is common practice, no source.",
		Today:      "Today",
		Since:      func(day string) string { return "Since " + day },
		ClaimedBy:  func(member, until string) string { return member + " takes it, until " + until },
		ClaimedMe:  func(until string) string { return "You take it, until " + until },
		DoneBy:     func(member, clock string) string { return member + ", " + clock },
		Reentry:    func(until string) string { return "Do not touch the plants until " + until + "." },
		HeldBack:   func(until string) string { return "Treated plants must not be touched until " + until + "." },
		MixHow:     func(product, water string) string { return product + " in " + water + " of water" },
		Ready:      "Ready to use, nothing to mix",
		NoAmount:   "As the label says; the shelf has no amount for it",
		PutOffTill: func(day string) string { return "Put off until " + day },
	}
	c.Story = Story{
		LookedClean: "Looked, nothing found", Found: "Found something",
		Treated: func(product string) string { return "Treated with " + product },
		On:      func(parts string) string { return "On: " + parts },
		Damage: func(step int, words string) string {
			return "Damage " + itoa(step) + " of " + itoa(MostDamage) + ": " + words
		},
		By:      func(member, clock string) string { return member + ", " + clock },
		ByBoth:  func(a, b string) string { return a + " and " + b },
		PhotoOf: func(plant, day string) string { return plant + ", " + day },

		FlagMeaning:    "Until you say, both count: the label’s shortest interval runs from the later one, and both count towards the most in a season.",
		FlagNext:       func(day string) string { return "Next spray not before " + day + "." },
		LastClean:      func(day string) string { return "Last look: " + day + ", nothing found" },
		LastFinding:    func(day, what string) string { return day + ": " + what },
		NeverLooked:    "Not looked at yet",
		WhyWatch:       func(day string) string { return "Last finding: " + day + ". Clean looks end the watch." },
		WhyQuarantined: func(day string) string { return "Apart since " + day + ". It ends when you set it back." },
		WhyTreatment:   func(outbreak, next string) string { return outbreak + ". Next: " + next + "." },
		WhyClear:       func(day string) string { return "Last look: " + day + "." },
	}
	c.Say = Say{
		NothingFound:   func(plant string) string { return plant + ": nothing found" },
		FindingSaved:   func(plant string) string { return plant + ": finding saved" },
		Skipped:        func(plant string) string { return plant + ": skipped" },
		PlantAdded:     func(plant string) string { return plant + " added" },
		Isolated:       func(plant string) string { return plant + " stands apart" },
		Released:       func(plant string) string { return plant + " is back among the others" },
		Gone:           func(plant string) string { return plant + " has left the lists" },
		Moved:          func(plant, place string) string { return plant + " moved to " + place },
		WentOut:        func(plant string) string { return plant + " is outdoors" },
		BackIn:         func(plant string) string { return plant + " is back in" },
		TaskDone:       "Noted as done",
		Claimed:        "You take it",
		Settled:        "Settled",
		Withdrawn:      "Withdrawn",
		Undone:         "Undone",
		Copied:         "Link copied",
		Saved:          "Saved",
		CourseAccepted: "Course accepted", PlanAccepted: "Plan accepted", CutCameIn: "Noted. Keep them away from the plants if you can",
		OutbreakOpened: "Outbreak opened",
		OutbreakClosed: "Outbreak closed",
		SampleLeft:     "The sample is gone",
		UploadDropped:  "Photo dropped",
		PutOff:         func(day string) string { return "Put off until " + day },
		Synced:         "Everything is shared",
		NoNetwork:      "No network. Everything is saved on this phone and will be sent later.",
		Stumbled:       "Something went wrong in that step. What was saved before is safe. Try again; if it happens once more, load the page anew.",
		NotSaved:       "This could not be saved. Nothing else was changed. Try again.",
		NeedName:       "Please give it a name.",
		NeedPlace:      "Please say where it stands.",
		NeedSigns:      "Please choose at least one sign, or count something.",
		NeedNumber:     "Please write a number, such as 12 or 2.5.",
		NeedChoice:     "Please choose one of the possibilities.",
	}
}
