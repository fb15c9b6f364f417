package oplog

import (
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// Op is one operation, read and named in full.
type Op struct {
	ID    model.FactID
	Stamp hlc.Stamp
	Body  any // *Set, *Define, *model.Fact, or one of those in member.go
}

// Set sets fields of one record. A record exists from the first setting on.
type Set struct {
	Record model.Ref
	Fields []Setting
}

// Setting sets one register.
type Setting struct {
	Key   model.FieldKey
	Value model.Value
	// Over is the setting that the author saw and replaced, zero if there was none.
	// Two settings over the same one were made without knowing of each other.
	Over model.FactID
}

// Define names long ids for the rest of the log. It changes nothing else.
type Define struct {
	IDs []uuid.UUID
}

// Kinds of operations. The numbers are on disk and on the wire: do not reorder or
// reuse them.
const (
	kindDefine    = 0
	kindSet       = 1
	kindFound     = 2
	kindInvite    = 3
	kindJoin      = 4
	kindAppoint   = 5
	kindRevoke    = 6
	kindRemove    = 7
	kindInspect   = 8
	kindApply     = 9
	kindHandle    = 10
	kindPlan      = 11
	kindClaim     = 12
	kindPutOff    = 13
	kindWithdraw  = 14
	kindCompleted = 15
	kindSettled   = 16
	kindCard      = 17
	kindTemp      = 18
	kindMeasure   = 19
	kindSucceed   = 20

	kinds = 24 // all kinds are below
)
