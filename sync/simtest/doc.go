// Package simtest lives through the troubles of a household's devices, in one
// process and from one seed.
//
// A World has phones that write and a server that only takes in and passes on. One
// pseudo-random sequence decides everything: who writes what, which messages are
// lost, repeated, delayed and reordered, when wall clocks jump, and when a device
// crashes, at any write to its disk. Whatever a device wrote to its disk and did not
// sync may then be gone. At the end the network heals, everybody talks to the server
// until there is nothing left to say, and these must hold:
//
//  1. all devices have the same state, down to the bytes of its snapshot;
//  2. every operation that a person was told is saved is there, once;
//  3. nothing is there that nobody wrote;
//  4. what the server said it has, it has after every crash;
//  5. who had seen a setting and replaced it has the later stamp, whatever the
//     clocks showed.
//
// The same seed gives the same run. The parts are the real ones, except for the
// disk, the network and the wall clocks.
package simtest
