package texts

func enReminders(c *Catalogue) {
	r := &c.Reminders
	r.Title, r.Open, r.OpenHint = "Reminders", "Reminders and quiet hours", "When each person hears of tasks, who is away, and whose turn it is."
	r.Of = func(name string) string { return "Reminders: " + name }
	r.DigestAt, r.DigestHint = "One message a day at", "Nothing is sent while this is empty, and on days on which nothing is due."
	r.Evening, r.EveningHint = "One more at 20:00", "Only if something of the day is still open."
	r.Quiet, r.QuietHint = "Quiet hours", "No message from here to there. What falls into them comes when they end."
	r.QuietFrom, r.QuietTo = "From", "To"
	r.Away, r.AwayHint = "Away", "No messages and no turns on these days. Without a last day: until you say otherwise."
	r.AwayFrom, r.AwayUntil = "First day", "Last day"
	r.Ends, r.EndsHint = "Last day of the stay", "A guest sees and hears of tasks up to this day. Empty: only of what the guest takes on."
	r.StayUntil = func(day string) string { return "Stays until " + day + ", and sees tasks until then." }
	r.StayOver = func(day string) string { return "The stay ended on " + day + ": no tasks and no messages any more." }
	r.StayOpen = "No last day was set: sees only tasks of the guest’s own."
	r.NeedTime = "Enter both times of the quiet hours, or neither."
	r.NeedSpan = "The last day away must not lie before the first."
	r.Others = "Of the others"

	r.Phone, r.PhoneHint = "Messages on this phone", "A message says how many tasks are open, and names no plant and no place. A task that somebody does takes its message away."
	r.Push = map[PushState]string{
		PushAsked:    "Asking the browser.",
		PushOn:       "This phone takes messages.",
		PushUnknown:  "The browser takes messages, but the server has not heard of it. Open this page again when the server can be reached.",
		PushOff:      "This phone takes no messages.",
		PushRefused:  "The browser was told not to show messages of this page. Allow them in its settings for this page, then come back.",
		PushFailed:   "The browser got no address from its push service. Try again later, or use the calendar below.",
		PushNone:     "This browser cannot take messages. Some can once the app is on the home screen. The calendar below works everywhere.",
		PushInsecure: "This address begins with http. Browsers take messages only over https, or on the machine that runs the server, so that nobody on the way can send them. The calendar below works here too.",
	}
	r.PushOn, r.PushOff = "Take messages here", "Stop messages here"
	r.Calendar, r.CalendarHint = "Calendar", "A link for a calendar program, with the days of your open tasks and their places."
	r.CalendarMake, r.CalendarCopy, r.CalendarEnd = "Make a calendar link", "Copy the link", "End the link"
	r.CalendarSecret = "Whoever has this link can read it. A new one ends the one before. It is shown only now."
	r.CalendarEnded = "No calendar link works any more"

	r.Whose, r.WhoseHint = "Whose turn", "For places that do not say otherwise. Anybody may always do a task."
	r.WhosePlace, r.WhosePlaceHint = "Whose turn here", "Anybody may always do a task."
	r.AsHousehold, r.Anyone, r.Rotating = "As for the household", "Whoever is at home", "In turns"
	r.Always = func(name string) string { return "Always " + name }
	r.WhoseShown, r.Mine, r.Everybody = "Whose tasks are shown", "Mine", "Everybody’s"
	r.NoneGuest = "Nothing is yours to do today. What you see can still be noted: a look, a finding, a watering."
	r.NoneMine = "Nothing of this is yours today. Look at everybody’s to see the rest."
	c.Notes = enNotes()
}

// mostCounted is up to how many tasks a message counts.
const mostCounted = 20

func enNotes() Notes {
	n := Notes{Lang: "en", Title: "Plants today"}
	for i := range mostCounted + 1 {
		n.Digest = append(n.Digest, count(i, "task", "tasks")+" for today")
		n.Evening = append(n.Evening, count(i, "task", "tasks")+" still open")
	}
	n.Digest = append(n.Digest, "More than "+itoa(mostCounted)+" tasks for today")
	n.Evening = append(n.Evening, "More than "+itoa(mostCounted)+" tasks still open")
	return n
}
