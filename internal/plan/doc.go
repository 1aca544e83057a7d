// Package plan tells, before anything is desoldered, whether a measurement will
// answer its question and what opening the rails does to the board.
//
// It computes nothing about uncertainty itself. The planned work is turned into
// a study whose readings are what the displays are expected to show, and that
// study is tallied by package tally like any other: prediction and result come
// from the same code. What would help is found in the same way, by changing the
// planned work and tallying again, each change alone and then together.
//
// What an opening does to a rail comes from package insertion; here stands what
// it means for this rail, at this place, for this regulator. What is not known
// is asked, never assumed silently.
//
// A plan is made from a study (its boards, instruments, states, aims and what
// its rails are expected to carry), a Scheme (how the work is to be done) and a
// seed (the order of work). The same three give the same plan.
package plan
