package texts

import "leafturn/model"

// Photos are the words about photos that were just taken. Doubt is why one had better
// be taken again, by the reason's own word.
type Photos struct {
	Working             func(n int) string
	Kept, Again, Remove string
	Gallery             string
	Size                string
	Full, FullHint      string
	Doubt               map[string]string

	Send, SendHint string
	When           map[Sending]string
	On             map[Network]string
	Resting        func(n int) string
	SendNow        func(n int) string
}

// Sending is when a phone sends photos. The words are kept on phones: do not change.
type Sending string

// The choices.
const (
	SendAlways Sending = "always"
	SendFree   Sending = "free"  // not on a network that may cost
	SendAsked  Sending = "asked" // when somebody says so
)

// Sendings lists every choice.
var Sendings = []Sending{SendAlways, SendFree, SendAsked}

// Network is what a browser says about the network that the phone is on.
type Network string

// The networks.
const (
	NetworkUnsaid Network = "unsaid" // many browsers do not say
	NetworkFree   Network = "free"   // a cable or Wi-Fi
	NetworkCosts  Network = "costs"  // mobile data, or the person asked to save data
)

// Networks lists them all.
var Networks = []Network{NetworkUnsaid, NetworkFree, NetworkCosts}

// Measure are the words about a measured leaf.
type Measure struct {
	Title, Open, Working, Damaged, CannotTitle string
	Share                                      func(about, low, high float64) string // per cent of the leaf
	Method                                     func(version, confidence int) string
	CannotTell                                 map[string]string // by the reason's own word
	Worth                                      string
	Unproven                                   []string
	Agree, Reject, Correct, Again, HowTo, Said string
	Point                                      func(n, of int) string
	Next, Left, Right, Up, Down, More, Fewer   string
	Noted                                      map[model.Verdict]func(share string) string
}

// Recovery are the words about how a plant's leaves come on.
type Recovery struct {
	Title, Open, Strip, Unmeasured, NoneTitle, None  string
	BeforeAfter, Before, After, Working, Slider      string
	Over                                             func(before, after string) string
	CannotTitle                                      string
	TakeAlong, TakeAlongHint, Sheet, Print           string
	SheetTitle                                       func(plant string) string
	Pack, PackStop                                   string
	Packed                                           func(n, of int) string
	Missing                                          func(n int) string // photos that are not in the file
	ReadMe                                           []string           // goes with the file
	Older                                            func(n int) string
	HandLay, HandInstead, HandLaid                   string
	HandPlace                                        []string // the first and the second
	HandHow, HandNext, HandBoth, HandAgain, HandStop string
	HandSteps                                        string
	Cannot                                           map[string]string // by the reason's own word
	Trend, NoTrend, TrendNote, Day, Damaged, Growing string
	Drawn                                            func(first, share, last, lastShare string) string
}

// Card are the words about counting what sticks to a card.
type Card struct {
	Title, Open, Photo, PhotoHint, Working, Unproven string
	PhotoOf                                          func(place string) string
	Counted                                          func(count, low, high int) string
	Cannot                                           map[string]string // by the reason's own word
	Right, RightHint, Add, Take                      string
	Count, CountHint, Colour, Yellow, Blue           string
	Pest, PestHint, AnyPest                          string
	Replaced, ReplacedHint                           string
	Before                                           string
	Reading                                          func(day string, count int, pest string, replaced bool) string
}
