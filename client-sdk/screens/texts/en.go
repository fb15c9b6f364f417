package texts

// English is the catalogue in English.
func English() *Catalogue {
	words := enWords()
	c := &Catalogue{Lang: "en", Format: enFormat(words), Words: words}
	enStart(c)
	enToday(c)
	enRound(c)
	enPhotos(c)
	enPlants(c)
	enOutbreaks(c)
	enHousehold(c)
	enSpoken(c)
	enTasks(c)
	enReminders(c)
	enAheadAll(c)
	c.Cautions, c.LookAt = enCautions(), enLookAt()
	return c
}

func enStart(c *Catalogue) {
	c.Common = Common{
		Save: "Save", Note: "Note", AddNote: "Add a note", Undo: "Undo",
		SampleHere: "A sample: nothing here is real, nothing is shared.", LeaveSample: "Leave the sample",
		Fewer: func(what string) string { return "One fewer: " + what },
		More:  func(what string) string { return "One more: " + what },
		Dotted: func(a, b string) string {
			if a == "" || b == "" {
				return a + b
			}
			return a + " · " + b
		},
	}
	c.Bar = Bar{
		Today: "Today", Round: "Round", Plants: "Plants", Outbreaks: "Outbreaks", Household: "Household",
		DueSaid:   func(n int) string { return count(n, "task due", "tasks due") },
		NotesSaid: func(n int) string { return count(n, "thing to read", "things to read") },
	}
	c.Status = Status{
		Nothing:   "Nothing on this phone yet",
		Saved:     "Saved on this phone",
		Sending:   func(n, of int) string { return "Sending " + itoa(n) + " of " + itoa(of) },
		Shared:    func(clock string) string { return "Shared " + clock },
		Failed:    func(n int) string { return itoa(n) + " could not be sent – see why" },
		Waiting:   func(n int) string { return "Saved on this phone, " + itoa(n) + " to send" },
		ClockOff:  "This phone’s clock is off; entries take the server’s time",
		Sample:    "Sample – nothing is shared",
		NotSaved:  "Not saved – see why",
		Refused:   func(words string) string { return "The server refused: " + words },
		OtherCopy: "This phone has a new identity; nothing was lost",
	}
	c.Welcome = Welcome{
		Title: "Leafturn", Lead: "Look under the leaves, note what you find, and agree on what happens next. It works without a network.",
		FoundTitle: "Start your household", Found: "Start",
		HouseholdLabel: "Name of the household", HouseholdHint: "Everybody who joins will see it.",
		NameLabel: "Your name", NameHint: "So that the others know who looked.",
		PhoneLabel: "Name of this phone", PhoneHint: "To tell it from another one of yours.",
		NoLinkTitle: "Start a household", NoLink: "Starting a household needs a set-up link from the machine that keeps it.",
		NoLinkSteps: []string{
			"Open the terminal in which the server was started.",
			"Open the set-up link that it shows, or scan its code with this phone.",
			"The link works once and for a short time. Start the server again for a new one.",
		},
		JoinTitle: "Join a household", Join: "Scan the code on the other phone with this phone’s camera, or paste the link you were sent.",
		LinkLabel: "Invitation or set-up link", OpenLink: "Open the link",
		SampleTitle: "Only looking", Sample: "A made-up household with plants, an outbreak and its treatments. It stays on this phone and goes away in one step.",
		OpenSample: "Look round a sample household",
	}
	c.Join = Join{
		Title: func(household string) string {
			if household == "" {
				return "Join a household"
			}
			return "Join " + household
		},
		Lead: "This phone will hold the plants, the looks and the photos of the household, also without a network.",
		Role: func(role string) string { return "You join as " + role },
		Join: "Join",
	}
	c.First = First{
		Title:      "Your first plants",
		Lead:       func(household string) string { return "Three are enough to begin in " + household + "." },
		Add:        "Add this plant",
		AddedTitle: func(progress string) string { return "Added: " + progress },
		NoneYet:    "No plants yet. Start with the ones you worry about.",
		NextLabel:  "What comes next",
		Invite:     "Invite a second phone", Round: "Walk the first round", Later: "Later",
	}
}

func enToday(c *Catalogue) {
	c.Today = Today{
		Title: "Today", Overdue: "Overdue", Due: "Due today", Tomorrow: "Tomorrow", Week: "This week",
		TomorrowFree: "Nothing is due tomorrow.", WeekFree: "Nothing else is due this week.", DoneToday: "Done today",
		AllDoneTitle: "Nothing more today", AllDone: "Everything that was due is done.",
		NoPlantsTitle: "No plants yet", NoPlants: "Add the plants you look after. Rounds then fall due by themselves, place by place.", AddPlant: "Add a plant",
		Product: "Product", Amount: "Amount", Cautions: "Cautions", Why: "Why this date",
		Done: "Done", Begin: "Begin", Claim: "I’ll take it", NotToday: "Not today",
		WhyNot: "Why not", Until: "Ask again", PutOff: "Put it off",
		MixOnce:     func(product, place string) string { return "Mix once: " + product + ", " + place },
		AllTogether: func(n int) string { return "Confirm all " + itoa(n) + " together" },
		Brief: func(action, place string) string {
			if place == "" {
				return action
			}
			return action + ", " + place
		},
		FlagTitle: "Noted twice", FlagOne: "It was one spray, noted twice", FlagBoth: "Both happened",
	}
	c.Confirm = Confirm{
		CautionsTitle: "Before you start", OwnLabel: "From the label of this product", General: "Always",
		BlockedTitle: "Not now", AmountTitle: "Mix and spray", Where: "Where did the spray go?",
		UsedLabel: "Spray used in all", UsedHint: "Leave it empty if you did not measure.", UsedUnit: "ml",
		LeafTest:      "Spray one leaf, wait 24 to 48 hours, and treat the rest only if that leaf stays sound.",
		LeafTested:    "One leaf was tried first and stayed sound",
		LeafTestTitle: func(plants string) string { return "Try one leaf first: " + plants },
		Done:          "Done – note it",
	}
}

func enRound(c *Catalogue) {
	c.Round = Round{
		Title: "Round", Lead: "Choose a place. Clean plants come first, affected ones last.",
		NoPlacesTitle: "No places yet", NoPlaces: "A round walks through the plants of one place. Add a plant and say where it stands.", NoPlantsHere: "No plants stand here.",
		Start:    "Start the round",
		GoOn:     func(progress string) string { return "Go on, " + progress },
		StartAt:  func(place string) string { return "Start the round: " + place },
		At:       func(place, progress string) string { return place + " · plant " + progress },
		Progress: "Progress of the round", Stop: "Stop here",
		Nothing: "Nothing found", Found: "Found something", Skip: "Skip", LookAt: "Where to look",
		WashTitle: "Wash your hands", Wash: "The clean plants are done. Pests travel on hands, sleeves and tools, so wash or change them now.",
		WashNext: "Next come", Washed: "Hands are clean",
		DoneTitle: func(place string) string { return place + " is done" },
		Looked:    func(n int) string { return count(n, "plant", "plants") + " looked at." },
		FoundOn:   "Something was found on", Skipped: "Skipped", SkippedWords: "A skipped plant counts as not looked at.",
		AlsoDue: "Also due", BackToToday: "Back to Today",
		NextDue:  func(day string) string { return "The next round here: " + day + "." },
		Last:     func(member, day string) string { return "Last walked by " + member + ", " + day },
		Confirms: func(parts string) string { return "“Nothing found” says that you looked here: " + parts + "." },
		Affected: func(standing string) string {
			return "Comes late in the walk: " + standing + ". Touch no clean plant after it."
		},
	}
	c.Finding = Finding{
		Title: "What did you find?", BackToRound: "Round",
		Photo: "Photograph the underside", PhotoHint: "Close, sharp, in the shade of your hand.", PhotoAlt: "The photo you have just taken",
		Where: "Where on the plant?", Signs: "What does it look like?",
		Counts: "How many?", CountsHint: "All that you saw while looking the plant over. Leave 0 for what you did not see.",
		How: "How you looked", HowHint: "Only what you say counts. The more of it is known, the surer the forecast.",
		LookedAt: "Where did you look?", Aid: "What helped your eyes?",
		Growing: "Clean new growth", GrowingHint: "Leaves that have opened since, without a mark.",
		Damage: "How damaged is the plant?", DamageHint: "As you judge it by eye.", NoteHint: "Only what the choices above do not say.",
		Save: "Save the finding",
	}
	c.After = After{
		Title:        "Saved. And now?",
		IsolateTitle: "Keep it apart", Isolate: "A metre from other plants, with its own watering can, keeps most pests from walking over. Common practice, no source.",
		IsolateDo: "I have set it apart", IsolatedAlready: "It stands apart already.",
		OutbreakTitle: "Call it an outbreak", Outbreak: "Then the findings and the treatments of all affected plants stand on one page, and you can agree on a course.",
		OpenDo: "Open an outbreak", PestLabel: "What do you think it is?", PestHint: "You can change it later.",
		AddTo:      func(outbreak string) string { return "Add it to: " + outbreak },
		Within:     func(outbreak string) string { return "It belongs to: " + outbreak + "." },
		WatchTitle: "Keep watching", Watch: "Nothing changes. The plant is marked and comes late in the next round.", WatchDo: "Only watch", GoOn: "Go on",
	}
}

func enPlants(c *Catalogue) {
	c.Plants = Plants{
		Title: "Plants", Search: "Search plants", Add: "Add a plant", NoneTitle: "No plant found",
		None: func(query string) string { return "No plant or place is called “" + query + "”." },
	}
	c.PlantForm = PlantForm{
		NewTitle: "Add a plant", EditTitle: "Change the plant", Save: "Save the plant", More: "More about it",
		NameLabel: "Name", NameHint: "What you call it at home.",
		SpeciesLabel: "Kind of plant", SpeciesHint: "As far as you know it.",
		PlaceLabel: "Place", OtherPlace: "Another place", NewPlaceLabel: "New place", NewPlaceHint: "Such as a window sill or a shelf.",
		EdibleLabel: "We eat from it", EdibleHint: "Then only what the label names for food plants comes near it.",
		SensitiveLabel: "Sensitive to sprays", SensitiveHint: "Then you are asked to try one leaf first.",
		ArrivedLabel: "It has just come in", ArrivedHint: "New from outside. It is watched for a while, and a pest found later can be traced to it.",
		Prone: "What pests make of it", ProneHint: "It decides whom to look at first. All of it may stay empty.",
		ThinLabel: "Thin, soft leaves", ThinHint: "They are taken first.",
		WeakLabel: "Weak", WeakHint: "Ill, dry or newly potted.",
		MotherLabel: "Cut from", MotherHint: "A cutting brings what its mother plant has.", NoMother: "None of ours",
		NoteHint: "Such as the pot, or where it came from.",
	}
	c.Plant = Plant{
		LookedClean: "Nothing found", FoundSomething: "Found something",
		Timeline: "What happened", TimelineEmpty: "Nothing noted yet. The first look starts the story.", Older: "Show what was before",
		InOutbreak: func(outbreak string) string { return "In the outbreak: " + outbreak },
		Edible:     "Eaten from: only what the label names for food plants", Sensitive: "Sensitive: try one leaf first",
		ApartTitle: "Apart from others", ApartWords: "A plant that stands apart comes last in the round, after clean hands.",
		Isolate: "I have set it apart", Release: "Back among the others",
		MoveTitle: "Move it", Move: "Move here",
		OutTitle: "Outdoors and back", OutWords: "What was outdoors may bring pests back in. It is looked at sooner after that.", GoOut: "It goes outdoors", BackIn: "It is back in",
		MoreTitle: "More", Edit: "Change name and facts", Gone: "The plant is gone", GoneWords: "It leaves the lists and the rounds. Its story stays.",
		Withdrawn: func(by string) string { return "Withdrawn by " + by + ". It counts for nothing." },
		Doubled:   "Noted twice", Amend: "Not right?",
		WithdrawWords: "A withdrawn entry stays readable but counts for nothing. Note it again as it really was.", WithdrawNote: "Why", Withdraw: "Withdraw this entry",
		PhotoTitle: "Photo",
	}
}

func enOutbreaks(c *Catalogue) {
	c.Outbreaks = Outbreaks{
		Title: "Outbreaks", NoneTitle: "No outbreak", None: "When a finding is more than one leaf, call it an outbreak. Its plants and its course then stand here.",
		ToRound: "Walk a round", Running: "Running", Ended: "Ended",
	}
	c.Outbreak = Outbreak{
		Next: "What to do next", AllDone: "Every day of the plan is done. Look at the plants; below it says whether it is over.",
		Counted: func(title string, n int) string { return title + " (" + itoa(n) + ")" },
		Course:  "Course", NoCourseTitle: "No course yet", NoCourse: "One spray leaves eggs and young behind. A course repeats it before they are grown.",
		PlanCourse: "Plan a course", ChangeCourse: "Change the course",
		Plants: "Plants", Applications: "Treatments", NoApplications: "No treatment noted yet.", Findings: "Findings", NoFindings: "No finding noted yet.",
		WhyDate:   func(why string) string { return "Why: " + why },
		PestTitle: "It is something else", CloseTitle: "It is over", CloseWords: "The outbreak closes and its open tasks go. Its story stays, and rounds go on.", Close: "Close the outbreak",
		Since:  func(day string) string { return "Since " + day },
		Closed: func(day string) string { return "Closed on " + day },
	}
	c.Course = Course{
		Title: "Plan a course", NoProductTitle: "The shelf is empty", NoProduct: "A course needs a product with the facts of its label. Nothing is filled in for you.",
		Product: "Product", ProductHint: "Only products whose label facts are complete.",
		Interval: "Days between sprays", Practice: "7 to 10 days: common practice, no source. The label wins.",
		Applications: "How many sprays", Check: "Look again after", CheckHint: "Days after each spray.",
		First: "First spray", Isolate: "Keep the plants apart", IsolateHint: "Until the outbreak is closed.",
		Preview: "What it comes to", Total: "Needed in all", Stock: "On the shelf", Limits: "Limits of the label", Accept: "Accept the course",
		Short:      func(missing string) string { return "The shelf does not hold enough: " + missing + " missing." },
		Summary:    func(product, times, days string) string { return product + ", " + times + ", every " + days },
		AcceptedBy: func(member, day string) string { return "Accepted by " + member + ", " + day },
	}
}
