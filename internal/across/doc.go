// Package across puts two studies side by side: a board measured last year and
// one measured today, from one notebook or from somebody else's bundle.
//
// It makes one study of the two, and the tally does the rest: what both studies
// share (the gain of one clamp) leads to both figures and drops out of their
// difference, as within one study. So all that is decided here is what is the
// same thing: which instruments, and which states. An instrument is the same when
// it is described alike in every field and either its serial number or its
// calibration says that it is one specimen, or somebody says so who knows.
// Everything else counts as two things, which makes a difference less certain,
// never more; and is told.
package across
