package texts

// Conflict is about what people wrote without knowing of each other.
type Conflict struct {
	Title                   func(field string) string
	Lead, NotYours, Row     string
	Counts, Keep, Take      string
	By                      func(member, day, clock string) string
	Chosen                  string
	Removed                 func(name, remover, editor, fields string) string
	RemovedUnknown          func(name, remover, writer string) string
	Facts                   string // of a record, where a field has no name of its own
	BringBack, LeaveRemoved string
	Back, Left              func(name string) string
	Yes, No, Nothing        string
	Millimetres             func(n int) string
	PotTop, PotBottom, Pot  string
}

func enConflict(c *Catalogue) {
	c.Conflict = Conflict{
		Title: func(field string) string { return "Two people changed this: " + field },
		Lead:  "Neither knew of the other. Nothing is lost.", NotYours: "A keeper or a helper can settle it.", Row: "Two people changed it at once",
		Counts: "Counts now, because it is the later one", Keep: "Keep it", Take: "Take this",
		By:     func(member, day, clock string) string { return member + ", " + day + ", " + clock },
		Chosen: "Settled",
		Removed: func(name, remover, editor, fields string) string {
			return remover + " removed " + name + ", and " + editor + " changed it at the same time: " + fields + ". The change is kept."
		},
		RemovedUnknown: func(name, remover, writer string) string {
			return remover + " removed " + name + ". " + writer + " did not know and noted something about it later. The note is kept."
		},
		Facts: "what is known about it", BringBack: "Bring it back", LeaveRemoved: "Leave it removed",
		Back: func(name string) string { return name + " is back" },
		Left: func(name string) string { return name + " stays removed" },
		Yes:  "Yes", No: "No", Nothing: "Nothing",
		Millimetres: func(n int) string { return itoa(n) + " mm" },
		PotTop:      "Pot, width at the top", PotBottom: "Pot, width at the bottom", Pot: "Pot, height",
	}
}
