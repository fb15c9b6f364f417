package screens

// The actions that screens offer. The comment names the fields that travel with
// each; a field in [brackets] may be absent or empty, one with "..." may come
// more than once. Numbers are decimal; constants of the model travel as their
// numbers; dates are 2006-01-02; switches are "1" or absent.
const (
	ActFound       = "found"        // setup, household, name, phone
	ActOpenLink    = "open-link"    // link
	ActSample      = "sample"       // no fields
	ActLeaveSample = "leave-sample" // no fields
	ActJoin        = "join"         // invitation, name, phone

	ActAddPlace  = "add-place"  // name, rhythm (7 or 14), [coldest], [warmest] in °C with decimals, [card] (a model.CardColour)
	ActSavePlace = "save-place" // place, name, rhythm, [coldest], [warmest], [card], [turn] (a Turn… or a member)
	ActAddPlant  = "add-plant"  // name, [species], place or newplace, [arrived], [edible], [sensitive], [thin], [weak], [mother], [note], [first]
	ActSavePlant = "save-plant" // plant, name, [species], place or newplace, [edible], [sensitive], [thin], [weak], [mother], [note]
	ActSearch    = "search"     // q; while typing, answers by swapping IDPlantList

	ActStartRound     = "start-round"     // place
	ActNothingFound   = "nothing-found"   // plant, [place] of the round, [looked] (a model.PartSet)
	ActFoundSomething = "found-something" // plant, [place] of the round; opens the finding form
	ActSkip           = "skip"            // plant, place
	ActHandsWashed    = "hands-washed"    // place
	ActStopRound      = "stop-round"      // place
	ActSaveFinding    = "save-finding"    // plant, [place], part, looked..., aid, [growing], sign..., count0 to count3, damage, [note], [asked...] (see AskedName)
	ActAddPhoto       = "add-photo"       // plant, [shot] that is taken again, [full], file photo...; answers by swapping IDShots
	ActRemovePhoto    = "remove-photo"    // plant, shot
	ActOutline        = "outline"         // sum, [how] (left, right, up, down, next, more, fewer, tap), [x], [y] as shares; answers by swapping IDMarks and IDFigure
	ActMeasureAgain   = "measure-again"   // sum; the same
	ActNoteMeasure    = "note-measure"    // sum, [agree]
	ActCardPhoto      = "card-photo"      // place, file photo
	ActCardRing       = "card-ring"       // place, how (tap, add, take), [x], [y] as shares; answers by swapping IDMarks and IDFigure
	ActSaveCard       = "save-card"       // place, count, [pest], colour, [replaced], [note]
	ActPack           = "pack"            // plant; answers by swapping IDPacking, in the end with save
	ActStopPacking    = "stop-packing"    // no fields
	ActCompare        = "compare"         // plant, before, after; answers by swapping IDCompare
	ActByHand         = "by-hand"         // plant, how (begin, stop, next; tap, left, right, up, down with photo), [photo], [x], [y] as shares; answers by swapping IDCompare, or the marks and IDFigure

	ActIsolate       = "isolate"         // plant, [finding]
	ActRelease       = "release"         // plant
	ActMove          = "move"            // plant, place
	ActGone          = "gone"            // plant
	ActWentOut       = "went-out"        // plant
	ActBackIn        = "back-in"         // plant
	ActCutCameIn     = "cut-came-in"     // place
	ActOlder         = "older"           // plant; answers by swapping IDOlder
	ActNoteHeat      = "note-heat"       // place, coldest, warmest in °C with decimals
	ActKeepWatching  = "keep-watching"   // plant, [place] of the round
	ActOpenOutbreak  = "open-outbreak"   // plant, [finding], pest
	ActAddToOutbreak = "add-to-outbreak" // plant, [finding], outbreak
	ActSetPest       = "set-pest"        // outbreak, pest
	ActCloseOutbreak = "close-outbreak"  // outbreak
	ActPreviewCourse = "preview-course"  // the fields of ActAcceptCourse; answers by swapping IDCoursePreview
	ActAcceptCourse  = "accept-course"   // outbreak, product, interval, applications, first, check, [isolate]
	ActIdentify      = "identify"        // the fields of ActSaveFinding; answers by swapping IDIdentify
	ActLookedFor     = "looked-for"      // plant, finding, sign, answer ("seen" or "absent")
	ActWorkOut       = "work-out"        // outbreak; works out the forecast and the plans again
	ActStopPlans     = "stop-plans"      // outbreak; stops working out the forecast and the plans
	ActPlanChoices   = "plan-choices"    // outbreak, [children], [pets], [nochemicals]; answers by swapping IDPlans
	ActAcceptPlan    = "accept-plan"     // outbreak, option
	ActTaskDone      = "task-done"       // task; for tasks that need no confirming
	ActApply         = "apply"           // task..., part..., [amount] in ml, [leaftest], [note]
	ActClaim         = "claim"           // task
	ActGiveBack      = "give-back"       // task; ends the member's own claim
	ActShow          = "show"            // whose (a Shown)
	ActWater         = "water"           // place or plant
	ActTend          = "tend"            // plant, kind (one of Tended)
	ActPutOff        = "put-off"         // task, reason, until
	ActSettle        = "settle"          // task, how ("one" or "both"), [fact] to withdraw when how is "one"
	ActWithdraw      = "withdraw"        // fact, [note]
	ActUndo          = "undo"            // what the toast was given; for the glue code's own use
	ActChoose        = "choose"          // record, field, write
	ActBringBack     = "bring-back"      // record
	ActLeaveRemoved  = "leave-removed"   // record
	ActAppoint       = "appoint"         // member, role
	ActRevoke        = "revoke"          // device
	ActRemoveMember  = "remove-member"   // member
	ActLeave         = "leave"           // no fields
	ActWriteAgain    = "write-again"     // fact
	ActMoveRead      = "move-read"       // no fields
	ActRestoredRead  = "restored-read"   // no fields
	ActRejoin        = "rejoin"          // link
	ActReturn        = "return"          // setup
	ActSaveFile      = "save-file"       // no fields; answers with save
	ActTakeFile      = "take-file"       // file file
	ActInvite        = "invite"          // role
	ActCopyLink      = "copy-link"       // link; answers with clip
	ActAddProduct    = "add-product"     // the fields of the product form, see ProductForm
	ActSaveProduct   = "save-product"    // product and the fields of the product form
	ActRemoveProduct = "remove-product"  // product
	ActSaveReminders = "save-reminders"  // member, [digest] and [quietfrom], [quietto] as 15:04, [evening], [awayfrom], [awayuntil], [ends]
	ActSaveTurn      = "save-turn"       // turn (TurnAnyone or TurnRotating)
	ActPush          = "push"            // how, state (a texts.PushState), subscription; sent by the shell
	ActMakeCalendar  = "make-calendar"   // no fields; answers by swapping IDCalendar
	ActEndCalendar   = "end-calendar"    // no fields
	ActSyncNow       = "sync-now"        // no fields
	ActRetryUpload   = "retry-upload"    // upload
	ActSaveCopy      = "save-copy"       // upload; answers with save
	ActDropUpload    = "drop-upload"     // upload
	ActSending       = "sending"         // sending (a texts.Sending); answers by swapping IDData
	ActSendPhotos    = "send-photos"     // no fields; the same
)

// Actions lists every action, so that the glue code and the tests can check
// that none is forgotten.
var Actions = []string{
	ActFound, ActOpenLink, ActSample, ActLeaveSample, ActJoin,
	ActAddPlace, ActSavePlace, ActAddPlant, ActSavePlant, ActSearch,
	ActStartRound, ActNothingFound, ActFoundSomething, ActSkip, ActHandsWashed, ActStopRound, ActSaveFinding, ActAddPhoto, ActRemovePhoto,
	ActOutline, ActMeasureAgain, ActNoteMeasure, ActCompare, ActByHand, ActPack, ActStopPacking, ActCardPhoto, ActCardRing, ActSaveCard,
	ActIsolate, ActRelease, ActMove, ActGone, ActWentOut, ActBackIn, ActCutCameIn, ActOlder, ActNoteHeat, ActKeepWatching, ActOpenOutbreak, ActAddToOutbreak, ActSetPest, ActCloseOutbreak,
	ActIdentify, ActLookedFor, ActWorkOut, ActStopPlans, ActPlanChoices, ActAcceptPlan,
	ActPreviewCourse, ActAcceptCourse, ActTaskDone, ActApply, ActClaim, ActGiveBack, ActShow, ActTend, ActWater, ActPutOff, ActSettle, ActWithdraw, ActUndo,
	ActChoose, ActBringBack, ActLeaveRemoved, ActAppoint, ActRevoke, ActRemoveMember, ActLeave, ActWriteAgain, ActMoveRead, ActRestoredRead, ActRejoin, ActReturn, ActSaveFile, ActTakeFile,
	ActInvite, ActCopyLink, ActAddProduct, ActSaveProduct, ActRemoveProduct,
	ActSaveReminders, ActSaveTurn, ActPush, ActMakeCalendar, ActEndCalendar,
	ActSyncNow, ActRetryUpload, ActSaveCopy, ActDropUpload, ActSending, ActSendPhotos,
}
