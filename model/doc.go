// Package model holds the nouns of a household that keeps plants free of pests.
//
// A household has members, and each member has one or more devices (phones).
// Its plants stand at places; its products stand on the shelf with the facts of
// their labels; an outbreak names a pest and the plants it was found on. These
// are records: every field is set on its own, the last setting wins, and the
// settings that lost are kept.
//
// What people saw and did are facts: an inspection, an application, a handling,
// a plan accepted, a task claimed, put off or completed, a flag settled, a fact
// withdrawn. A fact is added once and never changed.
//
// Tasks, standings and forecasts are derived from records and facts by the child
// packages; they are never stored as truth and have no place here.
//
// The package knows no clock, no disk and no network. Times come in as Instant
// (Unix milliseconds), days as Date (a civil day in the household's zone).
package model
