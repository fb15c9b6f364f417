package texts

// Reminders are the words about when a person hears of tasks, on this phone and in a
// calendar, and about whose turn tasks are.
type Reminders struct {
	Title, Open, OpenHint string
	Of                    func(name string) string // the title of somebody else's
	DigestAt, DigestHint  string
	Evening, EveningHint  string
	Quiet, QuietHint      string
	QuietFrom, QuietTo    string
	Away, AwayHint        string
	AwayFrom, AwayUntil   string
	Ends, EndsHint        string
	StayUntil, StayOver   func(day string) string // a guest's last day, ahead and past
	StayOpen              string                  // no last day was said
	NeedTime, NeedSpan    string                  // problems of the form
	Others                string

	Phone, PhoneHint       string
	Push                   map[PushState]string
	PushOn, PushOff        string
	Calendar, CalendarHint string
	CalendarMake, CalendarCopy,
	CalendarEnd, CalendarSecret, CalendarEnded string

	Whose, WhoseHint, WhosePlace, WhosePlaceHint string
	AsHousehold, Anyone, Rotating                string
	Always                                       func(name string) string
	NoneGuest                                    string
	WhoseShown, Mine, Everybody, NoneMine        string // what Today shows
}

// PushState is whether this phone takes messages.
type PushState string

// The states.
const (
	PushAsked    PushState = "asked"    // the browser has not answered yet
	PushOn       PushState = "on"       // it does, and the server knows
	PushUnknown  PushState = "unknown"  // it does, and the server has not heard of it
	PushOff      PushState = "off"      // it may
	PushRefused  PushState = "refused"  // the person told the browser not to
	PushFailed   PushState = "failed"   // the browser got no address from its push service
	PushNone     PushState = "none"     // the browser cannot
	PushInsecure PushState = "insecure" // it cannot at this address
)

// PushStates lists every state.
var PushStates = []PushState{PushAsked, PushOn, PushUnknown, PushOff, PushRefused, PushFailed, PushNone, PushInsecure}

// Notes are the words of the messages that a phone shows while the app is closed.
// The service worker reads them as JSON: it has no catalogue. A body is chosen by how
// much is due, up to the last one.
type Notes struct {
	Lang    string   `json:"lang"`
	Title   string   `json:"title"`
	Digest  []string `json:"digest"`
	Evening []string `json:"evening"`
}
