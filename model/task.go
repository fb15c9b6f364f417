package model

import "github.com/google/uuid"

// Rule is the rule that makes a task due. The numbers are part of task ids: do
// not reorder or reuse them.
type Rule uint8

// The rules.
const (
	RuleRound   Rule = 1 // look at the plants of a place; subject: the place
	RuleSpray   Rule = 2 // a step of a plan; subject: the plan
	RuleCheck   Rule = 3 // the look after a step; subject: the plan
	RuleIsolate Rule = 4 // keep the plants of a plan apart; subject: the plan

	RuleSoil       Rule = 5  // treat the potting mix, a step of a plan; subject: the plan
	RuleWash       Rule = 6  // rinse or wipe, a step of a plan; subject: the plan
	RuleTryLeaf    Rule = 7  // spray one leaf and see, a step of a plan; subject: the plan
	RuleCardRead   Rule = 8  // count what sticks to a place's card; subject: the place
	RuleCardNew    Rule = 9  // hang a new card; subject: the place
	RuleQuarantine Rule = 10 // the look that ends a plant's time apart; subject: the plant
	RuleMaintain   Rule = 11 // look again after an outbreak was closed; subject: the outbreak
	RuleBuy        Rule = 12 // a product runs out before a plan is done; subject: the product
	RuleMeasure    Rule = 13 // photograph the same leaf again; subject: the plant
)

// TaskKey says which task is meant: the rule, what it is about, and the how
// manieth of its kind. It never holds a date, so moving a task keeps its key.
type TaskKey struct {
	Rule    Rule
	Subject uuid.UUID
	Ordinal uint32 // from 1
}

// IsZero reports whether the key names no task.
func (k TaskKey) IsZero() bool { return k == TaskKey{} }

func (k TaskKey) valid() bool {
	return k.Rule >= RuleRound && k.Rule <= RuleMeasure && k.Subject != uuid.UUID{} && k.Ordinal >= 1
}

// ID is the task's id: a UUID of version 5 (RFC 9562, section 5.5) over the
// household, the rule, the subject and the ordinal, so that every phone and the
// server give one task one id without talking to each other.
func (k TaskKey) ID(h HouseholdID) TaskID {
	name := make([]byte, 0, 21)
	name = append(name, byte(k.Rule))
	name = append(name, k.Subject[:]...)
	name = append(name, byte(k.Ordinal>>24), byte(k.Ordinal>>16), byte(k.Ordinal>>8), byte(k.Ordinal))
	return TaskID(uuid.NewSHA1(h.UUID(), name))
}
