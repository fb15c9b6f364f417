// Package population follows the animals of one pest on a plant, day by day.
//
// A model is a species made ready for this. The life of an animal is a row of
// boxes: each stage is so many boxes long, the adults' time before the first egg
// and their laying life among them. A variant is a kind of the species on a host
// of some quality: hosts differ by about ±30 % in time. A member is one possible
// course of things on the plant: a variant, how fertile and how thoroughly treated
// the animals are, and how many are in each box. A cloud is many members; together
// they say how sure one can be. A climate is the temperatures of some days made
// ready for a model. An act is a treatment on a day; its kills are the share of
// each stage that dies. A look is an inspection as evidence. A band is what 10, 50
// and 90 of a hundred members stay below.
//
// A day goes: treatments kill, newcomers arrive, adults lay, everybody develops or
// dies. Few animals are drawn one by one, so that dying out is exact; many are
// drawn from the normal distribution with the same mean and spread.
//
// Days are counted from 0 at the start of the climate. Temperatures are in degrees
// Celsius, rates per day, shares between 0 and 1. The same seed gives the same
// numbers on every machine of one type; nothing here knows a clock.
package population
