// Package meter tells what a measuring program has used so far: the processor's time of
// all its threads, the collector's and, under Node, the compiler's included, and memory.
package meter

import (
	"fmt"
	"time"
)

// Print prints a figure the way package results reads it.
func Print(figure string, value float64, unit string) {
	fmt.Printf("%s %.6g %s\n", figure, value, unit)
}

// Micros is a duration's share of each of n, in microseconds.
func Micros(d time.Duration, n int) float64 { return float64(d.Nanoseconds()) / 1e3 / float64(n) }
