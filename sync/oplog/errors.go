package oplog

import "leafturn/model/fault"

// Returned when bytes cannot be read as a batch or an operation.
var (
	ErrDamaged = fault.New("batch_damaged", "These entries arrived damaged and were not taken in. They are safe where they were written and will be sent again.")
	ErrVersion = fault.New("op_version_unknown", "These entries were written by a newer Leafturn. Update this one to read them; nothing is lost.")
	ErrTooBig  = fault.New("batch_too_big", "These entries are larger than one batch may be. They were not taken in.")
)

// Returned when a batch reads well but does not continue its device's log.
var (
	ErrSignature = fault.New("signature_broken", "These entries do not carry the right signature of their phone. They were not taken in.")
	ErrGap       = fault.New("log_gap", "Entries before these are missing. They will be asked for; nothing is lost.")
	ErrFork      = fault.New("log_forked", "Two phones are writing as one: perhaps a phone was restored from a copy. Its entries are kept on the phone and were not taken in here.")
)

// Returned when a batch breaks the rules of the household.
var (
	ErrStranger   = fault.New("device_unknown", "The phone that wrote this is not a member of this household.")
	ErrHousehold  = fault.New("household_foreign", "These entries belong to another household and were not taken in.")
	ErrInvitation = fault.New("invitation_invalid", "This invitation does not fit this household. Ask for a new one.")
	ErrUsed       = fault.New("invitation_used", "This invitation was already used by another phone. Ask for a new one.")
	ErrRevoked    = fault.New("device_revoked", "This phone was signed off from the household. What is written on it is still here; a new invitation brings it back.")
	ErrLastKeeper = fault.New("last_keeper", "A household needs a keeper. Make somebody else keeper first.")
	ErrNotAllowed = fault.New("not_allowed", "Your role in this household does not allow this. Ask a keeper to do it.")
)
