// Package agenda derives what is to be done: from a household's records and
// facts, a moment and a zone to its tasks. Nothing it says is ever stored.
//
// A task is one thing to do: a round of a place, a step of a plan, keeping plants
// apart, cutting off what is badly damaged, reading or renewing a sticky card, the look that ends a plant's time apart,
// looks after an outbreak was closed, buying what runs out, photographing the same
// leaf again. Its key names it (model.TaskKey) and never holds
// a date, so facts that arrive late move dates and never identities. A task is
// open, claimed, put off or done. A step that waits for the one before it is
// projected: its key is certain, its date an estimate.
//
// A task is done once a fact that stands carries its key as what it completes.
// The first completion, in order of doing, sets the rhythm; a task done twice is
// one task done. Two applications for one task raise a flag, because the plants
// may have been sprayed twice: both count for every limit on the label.
//
// Where several plans were accepted for an outbreak the one written last rules;
// the others are superseded and make no tasks, but their sprays count as sprays.
//
// A step is as far from the step before it as planned, counted from when that one was
// done; labels may move it on, never back. A breach is a limit that was not kept all
// the same. A turn says whose task it is; For leaves a member what is the member's.
//
// A date is due because of reasons, a task comes with cautions, and a guard warns
// before an application is logged. All three are numbers and facts; the words for
// them live in the screens' catalogue.
//
// All days are civil days in the household's zone, so that a change of the clocks
// moves nothing. Same facts, same moment, same zone: same agenda, on every phone
// and on the server.
package agenda
