package texts

// Members is about who belongs to the household and what each may do, and about the
// identity of this phone.
type Members struct {
	Phones, Appoint, Appointed                   string
	This                                         func(phone string) string
	LastKeeper                                   string
	RevokeTitle, Revoke, Revoked                 string
	RevokeWords, RemoveWords, LeaveWords         []string
	RemoveTitle, Remove, Removed                 func(member string) string
	LeaveTitle, Leave, Left                      string
	AsideTitle, AsideLead, AsideNone, WriteAgain string
	AsideCount                                   func(n int) string
	AsideLook                                    string
	Written                                      string
	Edited                                       func(record, fields string) string
	MemberChange, OtherEntry                     string
	OutTitle, OutDo                              string
	RejoinTitle, RejoinWords, Rejoin, Rejoined   string
	Return, Returned                             string
	OutUnknown                                   []string
	ReturnTitle                                  func(household string) string
	ReturnWords                                  []string
	MovedCopy, MovedBack, Unnamed                string
	MovedCopyWords                               func(phone string) string
	Carried, LeftBehind                          func(n int) string
	Read                                         string
	RestoredTitle, Restored, UnreadTitle         string
	FileTitle, SaveTitle, SaveWords, SaveFile    string
	TakeTitle, TakeWords, ChooseFile, TakeFile   string
	Took, Refused                                func(n int) string
	NoFile                                       string
}

func enMembers(c *Catalogue) {
	c.Members = Members{
		Phones: "Phones", Appoint: "Change the role", Appointed: "Role changed",
		This:        func(phone string) string { return phone + " (this one)" },
		LastKeeper:  "The last keeper cannot leave or take another role: nobody could invite or sign off a phone any more. Make somebody else keeper first.",
		RevokeTitle: "Sign this phone off", Revoke: "Sign it off", Revoked: "Signed off",
		RevokeWords: []string{"Do this if the phone was lost or sold.", "What it had shared until now stays and counts.", "What it writes from now on counts nowhere. Nothing is deleted from the phone itself.", "A new invitation brings it back."},
		RemoveTitle: func(member string) string { return "Remove " + member }, Remove: func(member string) string { return "Remove " + member },
		RemoveWords: []string{"All phones of this member are signed off.", "What the member had shared until now stays and counts, with the name.", "What was not shared yet does not count; a keeper can write it again if it arrives.", "Only a new invitation brings the member back."},
		Removed:     func(member string) string { return member + " was removed" },
		LeaveTitle:  "Leave the household", Leave: "Leave now", Left: "You have left",
		LeaveWords: []string{"All your phones are signed off, this one too.", "What you noted stays with the household, with your name.", "What is on this phone stays readable here and is not brought up to date any more.", "Only a new invitation brings you back."},
		AsideTitle: "Entries that do not count", AsideLead: "Whoever wrote these could not write them any more, as somebody else had decided meanwhile. They are kept. What is right can be written again: who saw it and when stays.",
		AsideNone: "There are none.", WriteAgain: "Write it again", Written: "Written again",
		AsideCount: func(n int) string { return count(n, "entry does", "entries do") + " not count" }, AsideLook: "See which and why",
		Edited: func(record, fields string) string { return record + ": " + fields }, MemberChange: "A change of members or roles", OtherEntry: "An entry",
		OutTitle: "This phone is kept out", OutDo: "Come back by an invitation",
		OutUnknown: []string{"The server does not know this household, or not this phone in it. Everything is still on this phone.",
			"If the server has lost its data: start it again, and open the set-up link that it prints on one phone of the household. The other phones follow by themselves.",
			"If it has lost nothing, a new invitation brings this phone back."},
		ReturnTitle: func(household string) string { return "Bring " + household + " back" }, Return: "Bring it back", Returned: "The server has the household again",
		ReturnWords: []string{"The server does not know this household: it has lost its data, or it is another one.", "This phone gives it all entries that it has, and its photos.", "The other phones follow by themselves. Nobody needs a new invitation."},
		RejoinTitle: "Come back", RejoinWords: "Ask a keeper for an invitation. What is written on this phone and not shared is written again, as far as your new role allows.", Rejoin: "Join again", Rejoined: "This phone is back",
		MovedCopy: "Two phones were writing as one", MovedBack: "This phone is back in the household", Unnamed: "A phone without a name",
		MovedCopyWords: func(phone string) string {
			return "One is a copy of the other, or this phone was put back to an older state. What both wrote is kept. From now on each writes for itself; this one is called “" + phone + "”. If you know of no other, ask a keeper to sign it off under People and phones."
		},
		Carried: func(n int) string { return count(n, "entry was", "entries were") + " carried over. Nothing was lost." },
		LeftBehind: func(n int) string {
			return count(n, "entry", "entries") + " could not be written again: your role does not allow it. After “I have read this” this phone forgets what they said."
		},
		Read:          "I have read this",
		RestoredTitle: "The server was set back", Restored: "It had forgotten some of what it knew, as when a backup is put back. Each phone gives it, by itself, all that it still holds, photos too. There is nothing for you to do.",
		UnreadTitle: "Entries that this phone cannot take in",
		FileTitle:   "Hand over by file", SaveTitle: "Save a file", SaveWords: "It holds all entries that this phone knows, no photos. Pass it to another phone of this household by any way you like. It is not encrypted.", SaveFile: "Save the file",
		TakeTitle: "Take in a file", TakeWords: "Only entries of this household are taken in, and each is checked. Taking the same file in twice changes nothing. It works without a network.", ChooseFile: "Choose the file", TakeFile: "Take it in",
		Took: func(n int) string {
			if n == 0 {
				return "This phone knew all of it already."
			}
			return count(n, "new entry", "new entries") + " taken in."
		},
		Refused: func(n int) string { return count(n, "part was", "parts were") + " refused." },
		NoFile:  "Please choose a file first.",
	}
}
