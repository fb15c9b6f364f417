package texts

// Common are the words that several screens share.
type Common struct {
	Save, Note, AddNote, Undo string
	SampleHere, LeaveSample   string
	Fewer, More               func(what string) string
	Dotted                    func(a, b string) string // two facts on one line; either may be ""
}

// Bar are the five places.
type Bar struct {
	Today, Round, Plants, Outbreaks, Household string
	DueSaid, NotesSaid                         func(n int) string // the small number, for people who do not see it
}

// Status is the line that says where the data is.
type Status struct {
	Nothing   string // before this phone belongs to a household
	Saved     string
	Sending   func(n, of int) string
	Shared    func(clock string) string // only after the server acknowledged
	Failed    func(n int) string
	Waiting   func(n int) string // saved here, no network
	ClockOff  string             // by more than two minutes
	Sample    string
	NotSaved  string
	Refused   func(words string) string
	OtherCopy string // this identity was found twice; a new one was taken
}

// Welcome is the first screen.
type Welcome struct {
	Title, Lead                   string
	FoundTitle, Found             string
	HouseholdLabel, HouseholdHint string
	NameLabel, NameHint           string
	PhoneLabel, PhoneHint         string
	NoLinkTitle, NoLink           string
	NoLinkSteps                   []string
	JoinTitle, Join, LinkLabel    string
	OpenLink                      string
	SampleTitle, Sample           string
	OpenSample                    string
}

// Join is the screen an invitation opens.
type Join struct {
	Title func(household string) string
	Lead  string
	Role  func(role string) string
	Join  string
}

// First is the first plants.
type First struct {
	Title      string
	Lead       func(household string) string
	Add        string
	AddedTitle func(progress string) string
	NoneYet    string
	NextLabel  string
	Invite     string
	Round      string
	Later      string
}

// Today is what is due.
type Today struct {
	Title                             string
	Overdue, Due, Tomorrow, Week      string
	TomorrowFree, WeekFree, DoneToday string
	AllDoneTitle, AllDone             string
	NoPlantsTitle, NoPlants, AddPlant string
	Product, Amount, Cautions, Why    string
	Done, Begin, Claim, NotToday      string
	WhyNot, Until, PutOff             string
	MixOnce                           func(product, place string) string
	AllTogether                       func(n int) string
	Brief                             func(action, place string) string
	FlagTitle, FlagOne, FlagBoth      string
}

// Confirm is the screen before a treatment is noted.
type Confirm struct {
	CautionsTitle, OwnLabel, General string
	BlockedTitle, AmountTitle        string
	Where                            string
	UsedLabel, UsedHint, UsedUnit    string
	LeafTest, LeafTested, Done       string
	LeafTestTitle                    func(plants string) string
}

// Round is the walk.
type Round struct {
	Title, Lead                           string
	NoPlacesTitle, NoPlaces, NoPlantsHere string
	Start                                 string
	GoOn, StartAt                         func(string) string
	At                                    func(place, progress string) string
	Progress, Stop                        string
	Nothing, Found, Skip, LookAt          string
	WashTitle, Wash, WashNext, Washed     string
	DoneTitle                             func(place string) string
	Looked                                func(n int) string
	FoundOn, Skipped, SkippedWords        string
	AlsoDue, BackToToday                  string
	NextDue                               func(day string) string
	Affected                              func(standing string) string
	Confirms                              func(parts string) string // what "nothing found" says
	Last                                  func(member, day string) string
}

// Finding is the form for something found.
type Finding struct {
	Title, BackToRound           string
	Photo, PhotoHint, PhotoAlt   string
	Where, Signs                 string
	Counts, CountsHint           string
	How, HowHint, LookedAt, Aid  string
	Growing, GrowingHint         string
	Damage, DamageHint, NoteHint string
	Save                         string
}

// After is the screen after a finding.
type After struct {
	Title                            string
	IsolateTitle, Isolate, IsolateDo string
	IsolatedAlready                  string
	OutbreakTitle, Outbreak, OpenDo  string
	PestLabel, PestHint              string
	AddTo, Within                    func(outbreak string) string
	WatchTitle, Watch, WatchDo, GoOn string
}

// Plants is the collection.
type Plants struct {
	Title, Search, Add, NoneTitle string
	None                          func(query string) string
}

// PlantForm adds or changes a plant.
type PlantForm struct {
	NewTitle, EditTitle, Save, More string
	NameLabel, NameHint             string
	SpeciesLabel, SpeciesHint       string
	PlaceLabel, OtherPlace          string
	NewPlaceLabel, NewPlaceHint     string
	EdibleLabel, EdibleHint         string
	SensitiveLabel, SensitiveHint   string
	ArrivedLabel, ArrivedHint       string
	Prone, ProneHint                string
	ThinLabel, ThinHint             string
	WeakLabel, WeakHint             string
	MotherLabel, MotherHint         string
	NoMother                        string
	NoteHint                        string
}

// Plant is one plant's page.
type Plant struct {
	LookedClean, FoundSomething           string
	Timeline, TimelineEmpty, Older        string
	InOutbreak                            func(outbreak string) string
	Edible, Sensitive                     string
	ApartTitle, ApartWords                string
	Isolate, Release                      string
	MoveTitle, Move                       string
	OutTitle, OutWords, GoOut, BackIn     string
	MoreTitle, Edit, Gone, GoneWords      string
	Withdrawn                             func(by string) string
	Doubled, Amend                        string
	WithdrawWords, WithdrawNote, Withdraw string
	PhotoTitle                            string
}

// Outbreaks is the list.
type Outbreaks struct {
	Title, NoneTitle, None, ToRound, Running, Ended string
}

// Outbreak is one outbreak's page.
type Outbreak struct {
	Next, AllDone                   string
	Course, NoCourseTitle, NoCourse string
	PlanCourse, ChangeCourse        string
	Counted                         func(title string, n int) string
	Plants                          string
	Applications, NoApplications    string
	Findings, NoFindings            string
	WhyDate                         func(why string) string
	PestTitle                       string
	CloseTitle, CloseWords, Close   string
	Since, Closed                   func(day string) string
}

// Course is the form that accepts a course.
type Course struct {
	Title, NoProductTitle, NoProduct      string
	Product, ProductHint                  string
	Interval, Practice                    string
	Applications, Check, CheckHint        string
	First, Isolate, IsolateHint           string
	Preview, Total, Stock, Limits, Accept string
	Short                                 func(missing string) string
	Summary                               func(product, times, days string) string
	AcceptedBy                            func(member, day string) string
}

// Household is people, phones, shelf and places.
type Household struct {
	Under                          string
	Members, Invite, KeepersInvite string
	Me                             func(name string) string
	Shelf, ShelfEmpty              string
	Places, PlacesEmpty            string
	Data                           string
	LastHeard                      func(phone, when string) string
}

// Invite makes an invitation.
type Invite struct {
	Title, Role, Make           string
	ReadyTitle, CodeTitle, Scan string
	Secret, Copy                string
	Expires                     func(clock string) string
	OnlyHere                    string // the address is that of this machine
	NeedsServer                 string // no network
}

// Place adds or changes a place.
type Place struct {
	NewTitle, EditTitle, NameLabel, NameHint, RhythmLabel, RhythmHint string
	Warmth, WarmthHint, ColdestLabel, WarmestLabel, Celsius           string
	Between                                                           func(coldest, warmest string) string
	CutTitle, CutWords, Cut                                           string
}

// Product takes down a label.
type Product struct {
	NewTitle, EditTitle, Lead        string
	What, Amounts, Limits, Words     string
	NameLabel, NameHint, MeansLabel  string
	ActiveLabel, ActiveHint          string
	GroupLabel, GroupHint            string
	UnitLabel, RateLabel, RateHint   string
	PerLitre                         string
	PerPlantLabel, PerPlantHint      string
	StockLabel, StockHint, StockUnit string
	LimitsHint, IntervalLabel        string
	SeasonLabel, ReentryLabel        string
	ReentryHint, MaxHeatLabel        string
	InRowLabel, InRowHint            string
	SiteLabel, SiteHint              string
	Days, Times, Hours, Celsius      string
	PestsLabel, PestsHint            string
	CautionsLabel, CautionsHint      string
	EdibleLabel, EdibleHint          string
	RemoveTitle, RemoveWords, Remove string
}

// Data is where the data is.
type Data struct {
	Entries, Waiting, Photos    string
	SyncNow, Details            string
	Digest, DigestHint, Version string
	Failed                      func(n int) string
	FailedSafe                  string
	Retry, SaveCopy             string
	DropTitle, DropWords, Drop  string
	SampleWords                 string
	PhotosHeld                  func(n, waiting int, size string) string
}

// Poison says whom to call.
type Poison struct {
	Title, Emergency string
	Steps            []string
	NumbersTitle     string
	NumbersWords     string
	Numbers          []PoisonNumber
	Limits           string
}

// PoisonNumber is the number of a poison centre, with the country in which it answers
// and who publishes it.
type PoisonNumber struct{ Country, Number, Source string }

// Problem names the three parts of an error.
type Problem struct {
	Title, Happened, Safe, Do string
}
