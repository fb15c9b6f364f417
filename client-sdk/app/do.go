package app

import (
	"context"

	"leafturn/client-sdk/screens"
)

// Do carries out what a person did on the page.
func (a *App) Do(ctx context.Context, e Event) Answer {
	a.derived = derived{}
	act, ok := actions[e.Do]
	if !ok || a.house == nil && !beforeSetUp[e.Do] || a.server == nil && withServer[e.Do] {
		return Answer{}
	}
	return act(a, ctx, e)
}

// beforeSetUp are the actions that need no household.
var beforeSetUp = map[string]bool{
	screens.ActFound: true, screens.ActJoin: true, screens.ActOpenLink: true, screens.ActSample: true,
}

// withServer are the actions that ask the household's server while one waits. The sample
// has none.
var withServer = map[string]bool{
	screens.ActInvite: true, screens.ActRejoin: true, screens.ActReturn: true,
}

// actions says what each action of the screens does.
var actions map[string]func(a *App, ctx context.Context, e Event) Answer

func init() {
	actions = map[string]func(*App, context.Context, Event) Answer{
		screens.ActFound:        (*App).found,
		screens.ActOpenLink:     (*App).openLink,
		screens.ActSample:       (*App).openSample,
		screens.ActLeaveSample:  (*App).leaveSample,
		screens.ActJoin:         (*App).join,
		screens.ActChoose:       (*App).choose,
		screens.ActBringBack:    (*App).bringBack,
		screens.ActLeaveRemoved: (*App).leaveRemoved,
		screens.ActAppoint:      (*App).appoint,
		screens.ActRevoke:       (*App).revoke,
		screens.ActRemoveMember: (*App).removeMember,
		screens.ActLeave:        (*App).leave,
		screens.ActWriteAgain:   (*App).writeAgain,
		screens.ActMoveRead:     (*App).moveRead,
		screens.ActRestoredRead: (*App).restoredRead,
		screens.ActReturn:       (*App).bringHouse,
		screens.ActRejoin:       (*App).rejoin,
		screens.ActSaveFile:     (*App).saveFile,
		screens.ActTakeFile:     (*App).takeFile,

		screens.ActInvite:   (*App).invite,
		screens.ActCopyLink: (*App).copyLink,

		screens.ActAddPlace:      (*App).savePlace,
		screens.ActSavePlace:     (*App).savePlace,
		screens.ActAddPlant:      (*App).savePlant,
		screens.ActSavePlant:     (*App).savePlant,
		screens.ActSearch:        (*App).search,
		screens.ActAddProduct:    (*App).saveProduct,
		screens.ActSaveProduct:   (*App).saveProduct,
		screens.ActRemoveProduct: (*App).removeProduct,

		screens.ActStartRound:     (*App).startRound,
		screens.ActNothingFound:   (*App).nothingFound,
		screens.ActFoundSomething: (*App).foundSomething,
		screens.ActSkip:           (*App).skip,
		screens.ActHandsWashed:    (*App).handsWashed,
		screens.ActStopRound:      (*App).stopRound,
		screens.ActSaveFinding:    (*App).saveFinding,
		screens.ActAddPhoto:       (*App).addPhoto,
		screens.ActRemovePhoto:    (*App).removePhoto,
		screens.ActOutline:        (*App).outline,
		screens.ActMeasureAgain:   (*App).measureAgain,
		screens.ActNoteMeasure:    (*App).noteMeasure,
		screens.ActCompare:        (*App).compare,
		screens.ActByHand:         (*App).layByHand,
		screens.ActPack:           (*App).packRecovery,
		screens.ActStopPacking:    (*App).stopPacking,
		screens.ActCardPhoto:      (*App).cardPhoto,
		screens.ActCardRing:       (*App).ring,
		screens.ActSaveCard:       (*App).saveCard,

		screens.ActIsolate:       (*App).isolate,
		screens.ActRelease:       (*App).release,
		screens.ActMove:          (*App).move,
		screens.ActGone:          (*App).gone,
		screens.ActWentOut:       (*App).wentOut,
		screens.ActBackIn:        (*App).backIn,
		screens.ActCutCameIn:     (*App).cutCameIn,
		screens.ActNoteHeat:      (*App).noteHeat,
		screens.ActWithdraw:      (*App).withdraw,
		screens.ActOlder:         (*App).older,
		screens.ActKeepWatching:  (*App).keepWatching,
		screens.ActOpenOutbreak:  (*App).openOutbreak,
		screens.ActAddToOutbreak: (*App).addToOutbreak,
		screens.ActSetPest:       (*App).setPest,
		screens.ActCloseOutbreak: (*App).closeOutbreak,

		screens.ActIdentify:  (*App).identify,
		screens.ActLookedFor: (*App).lookedFor,
		screens.ActWorkOut:   (*App).workOut,
		screens.ActStopPlans: (*App).stopWork,

		screens.ActPlanChoices: (*App).planChoices,
		screens.ActAcceptPlan:  (*App).acceptPlan,

		screens.ActPreviewCourse: (*App).previewCourse,
		screens.ActAcceptCourse:  (*App).acceptCourse,
		screens.ActTaskDone:      (*App).taskDone,
		screens.ActApply:         (*App).apply,
		screens.ActClaim:         (*App).claim,
		screens.ActGiveBack:      (*App).giveBack,
		screens.ActShow:          (*App).showWhose,
		screens.ActWater:         (*App).water,
		screens.ActTend:          (*App).tend,
		screens.ActPutOff:        (*App).putOff,
		screens.ActSettle:        (*App).settle,
		screens.ActUndo:          (*App).undo,

		screens.ActSaveReminders: (*App).saveReminders,
		screens.ActSaveTurn:      (*App).saveTurn,
		screens.ActPush:          (*App).pushed,
		screens.ActMakeCalendar:  (*App).makeCalendar,
		screens.ActEndCalendar:   (*App).endCalendar,

		screens.ActRetryUpload: (*App).retryUpload,
		screens.ActSaveCopy:    (*App).saveCopy,
		screens.ActDropUpload:  (*App).dropUpload,
		screens.ActSending:     (*App).chooseSending,
		screens.ActSendPhotos:  (*App).sendPhotos,
		// A sync follows every action anyway; this one is only for the button.
		screens.ActSyncNow: func(a *App, _ context.Context, _ Event) Answer { return Answer{Status: a.statusLine()} },
	}
}
