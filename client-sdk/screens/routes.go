package screens

// The ids of the elements that answers swap.
const (
	IDMain          = "main"           // the screen
	IDBar           = "bar"            // the five places
	IDStatus        = "status"         // the line that says where the data is
	IDPlantList     = "plant-list"     // PlantList
	IDOlder         = "older"          // Days
	IDCoursePreview = "course-preview" // CoursePreview
	IDForecast      = "forecast"       // Forecast
	IDClear         = "clear"          // Clear
	IDPlans         = "plans"          // PlanCards
	IDWork          = "work"           // Work
	IDIdentify      = "identify"       // Identify
	IDShots         = "shots"          // Shots
	IDMarks         = "marks"          // Outline or Rings
	IDFigure        = "figure"         // Figure, CardCount or HandSteps
	IDOlderMarks    = "older-marks"    // HandMarks
	IDNewerMarks    = "newer-marks"    // HandMarks
	IDCompare       = "compare"        // Compare
	IDPacking       = "packing"        // Packing
	IDData          = "data-panel"     // DataPanel
	IDPush          = "push"           // PushPanel
	IDCalendar      = "calendar"       // CalendarPanel
)

// TaskCardID is the id of a task's card, for swapping only that card.
func TaskCardID(task string) string { return "task-" + task }

// The addresses of the screens, as the part of the URL after the page. The
// links Setup and Join are opened from outside: they carry a secret and never
// reach a server's log.
const (
	RouteSetup      = "#setup=" // and the one-time token
	RouteJoin       = "#join="  // and the invitation
	RouteWelcome    = "#/"
	RouteFirst      = "#/first"
	RouteToday      = "#/today"
	RouteRound      = "#/round"
	RoutePlants     = "#/plants"
	RouteNewPlant   = "#/plants/new"
	RouteOutbreaks  = "#/outbreaks"
	RouteHousehold  = "#/household"
	RouteInvite     = "#/household/invite"
	RouteData       = "#/household/data"
	RoutePoison     = "#/household/poisoned"
	RouteReminders  = "#/reminders"
	RouteAside      = "#/household/aside"
	RouteRejoin     = "#/household/rejoin"
	RouteFile       = "#/household/file"
	RouteNewProduct = "#/product/new"
	RouteNewPlace   = "#/place/new"
)

// RoundRoute is the walk through a place.
func RoundRoute(place string) string { return RouteRound + "/" + place }

// PlantRoute is a plant's page.
func PlantRoute(plant string) string { return "#/plant/" + plant }

// PlantEditRoute is the form for a plant's own facts.
func PlantEditRoute(plant string) string { return PlantRoute(plant) + "/edit" }

// FindingRoute is the finding form for a plant; place is the round it belongs
// to, or "".
func FindingRoute(plant, place string) string {
	if place == "" {
		return PlantRoute(plant) + "/finding"
	}
	return PlantRoute(plant) + "/finding/" + place
}

// ConfirmRoute is the screen that confirms a treatment; batch is the id of a
// task or of a batch of tasks.
func ConfirmRoute(batch string) string { return "#/confirm/" + batch }

// OutbreakRoute is an outbreak's page.
func OutbreakRoute(outbreak string) string { return "#/outbreak/" + outbreak }

// CourseRoute is the form that accepts a course for an outbreak.
func CourseRoute(outbreak string) string { return OutbreakRoute(outbreak) + "/course" }

// PlansRoute is the plans for an outbreak, side by side.
func PlansRoute(outbreak string) string { return OutbreakRoute(outbreak) + "/plans" }

// ProductRoute is the form for a product on the shelf.
func ProductRoute(product string) string { return "#/product/" + product }

// PlaceRoute is the form for a place.
func PlaceRoute(place string) string { return "#/place/" + place }

// RemindersRoute is when a member wants to hear of tasks.
func RemindersRoute(member string) string { return RouteReminders + "/" + member }

// MemberRoute is a member and the phones.
func MemberRoute(member string) string { return RouteHousehold + "/member/" + member }

// CardRoute is the form for the sticky card of a place.
func CardRoute(place string) string { return "#/card/" + place }

// RecoveryRoute is how a plant's leaves came on.
func RecoveryRoute(plant string) string { return PlantRoute(plant) + "/recovery" }

// RecoverySheetRoute is the same to print.
func RecoverySheetRoute(plant string) string { return RecoveryRoute(plant) + "/sheet" }

// MeasureRoute is how much of the leaf in a photo is damaged.
func MeasureRoute(sum string) string { return PhotoRoute(sum) + "/measure" }

// PhotoRoute is one photo at full size.
func PhotoRoute(sum string) string { return "#/photo/" + sum }
