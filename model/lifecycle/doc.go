// Package lifecycle says how long a pest takes and how fast it multiplies at a
// temperature, constant or changing.
//
// A life is a species' profile made ready for computing: central values on an
// ordinary host. A rate is the share of a stage gone through in a day: above the
// stage's lower threshold it rises in a straight line, above the upper threshold
// it rises no more. A generation runs from egg (or birth) to the next generation's
// first egg (or birth). A climate is the lowest and highest temperature of each day
// counted from a start, and within a day the temperature follows a sine. Growth is
// what a population settles to when nothing holds it back, solved from the
// Euler–Lotka equation. A band is low, central and high: plants differ as hosts by
// about ±30 % in time, and a species that is not known for certain may be any of
// its kinds.
//
// Temperatures are in degrees Celsius, times in days, rates per day. Above the
// lethal temperature no young become adult, and below the lower threshold nothing
// moves: both are ErrNever, not a number.
package lifecycle
