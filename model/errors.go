package model

import "leafturn/model/fault"

// Returned when something cannot be a record or a fact of a household.
var (
	ErrInvalid      = fault.New("op_invalid", "This entry holds a value that cannot be right. It was not saved.")
	ErrUnknownField = fault.New("op_version_unknown", "This entry was written by a newer Leafturn. Update this one to read it; nothing is lost.")
)
