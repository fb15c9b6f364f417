// Package identify says what a plant probably has, from what somebody saw, and what
// to look at next.
//
// A cause is a pest as far as an eye or a lens can tell it, or something that is no
// pest: water, light, feeding, or none of these. A sign is something one can look
// for. Each sign is seen, looked for and absent, or not looked at; the last says
// nothing. The answer is a chance for every cause, by Bayes' rule with signs taken
// one by one; none of these always keeps one chance in a hundred.
//
// Two causes at once are not one cause: the answer is about what explains the signs
// best alone. A sticky card only shows what flies, so an empty one never speaks
// against mites, mealybugs, scales or wingless aphids, and whatever it shows leaves
// the odds between those unchanged.
//
// The chances in signs.csv are expert judgement, without a source; that a sign goes
// with a pest has the source named in its line. Nothing here has been measured on
// plants, so the chances rank causes and are not frequencies. It is a key for a
// first idea, not a diagnosis: treat nothing on its word alone.
package identify
