// Package simbench is a simulated bench: a virtual board with a virtual tester's
// hands, and meters that speak SCPI over TCP on this computer's loopback.
//
// # What is true
//
// The board, its currents, the errors of clamps, shunt and meters are those of
// the worked example (package example). On top of them this package puts what
// only time brings: the board warms after a state is set and its leakage with it,
// zeros of clamps wander, readings carry white and 1/f noise, and ripple that
// an integration over whole cycles takes out. True tells what a tally must find.
//
// Everything is a function of the seed and of the bench's time: noise comes from
// a hash of both, so meters may be asked in any order and from any goroutine.
//
// # Time
//
// A Clock says how the bench's time passes: Paced with the computer's, perhaps
// faster; Virtual only when somebody waits for something, so that a sitting of
// an hour takes a test milliseconds.
//
// # Hands and faults
//
// Where a meter's leads lie, in which state the board is, and what ails a meter
// is set by commands that any of the listeners takes (BENCh:…, see the table in
// hands.go), or by the methods of Bench.
package simbench
