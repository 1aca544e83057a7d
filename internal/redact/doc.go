// Package redact leaves out of a study what its author does not want to
// publish: who worked and calibrated, serial numbers, words that tell a place,
// notes.
//
// A name is not cut out but replaced by an alias, the same one wherever it
// stood, so that a reader still sees that two sittings were one person's work,
// and that two readings were taken with one instrument. What counts is the word,
// not only the field that is made for it: a name that also stands in a note, or
// in the name of a board, is replaced there too, and told. Figures never change
// by it; Study makes sure of that.
//
// A study has no field for a place. Words that tell it are given by the author.
package redact
