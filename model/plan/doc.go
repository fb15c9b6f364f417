// Package plan finds the course of treatments that ends an outbreak with the fewest
// applications, inside every limit on the labels.
//
// A case is what is known: the cloud of what may be on the plants, the temperatures
// to come, the plants, the shelf, what was applied before and what the household
// wants. A tool is a product of the shelf that may be used, or water. A product is
// refused with a reason if its label does not name the pest and the site, or if the
// plants or the household rule it out. A step is something to do on a day, with the
// reasons for that day. A course is steps in order. An option is a course that is
// best for a goal: the fewest sprays, soonest over, or no chemicals.
//
// The wanted gap between two applications is the time for which the young can be
// reached, by the temperatures of the very days. A label that asks for a longer gap
// wins, always; then rinsing or wiping fills in, or a product of another group.
// The chance of ending is worked out by population.Ending for a sample of the cloud:
// the chance that all animals now on the plants and all their young are gone by the
// horizon. Newcomers are not reckoned with.
//
// Whoever asks can watch the search and stop it. The same case and seed give the
// same plan. The label, local rules and licensed advice go before all of it, and
// nothing here knows a dose.
package plan
