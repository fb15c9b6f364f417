// Package workload makes a seeded stream of household records and plays it
// through the sync core, so that sizes and speeds can be measured and compared.
//
// The stream has 200 plants to begin with, then events (somebody looked at a plant
// and counted what was there) and a few edits of the plants' fields, written by
// four devices that are offline and whose clocks differ. It comes from a small
// pseudo-random generator, mulberry32, so that programs in other languages make
// the same bytes; Sum checks that they do.
//
// A Crowd is the household that lives through the stream: an event becomes an
// inspection with one finding, an edit of a name or a place a setting of the
// plant. Our plants have no field for quarantine, so that edit sets the field
// "sensitive", which is a truth value too. A record's own UUID is not kept: our
// facts are named by device and sequence.
//
// The names of persons and plants are made of random syllables.
package workload
