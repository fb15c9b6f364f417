// Package degree turns temperatures into degree-days.
//
// A degree-day is one degree above a lower threshold for one day. A method says
// how the temperature ran between the day's minimum and maximum: at their average,
// in straight lines (triangle), or along a sine. A single method takes one day
// alone; a double method takes the way down to the next day's minimum for the
// second half. Above an upper threshold no more is gained than at it: the
// horizontal cut-off, computed as the degree-days above the lower threshold less
// those above the upper one.
//
// Temperatures are in degrees Celsius, results in Celsius degree-days. Nothing
// here allocates.
package degree
