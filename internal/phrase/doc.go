// Package phrase lets a sentence be made in one place and said in several
// languages.
//
// A Phrase is data: an English message with its arguments still apart. The
// English message is its own key, so that it stands in the code where it is
// meant, and English needs no catalogue to be complete. Every other language
// is one file in catalogue, in the PO form that translators' tools read. A
// message that a catalogue lacks is said in English; a test lets none be
// missing, and none stay behind that is no longer said.
//
// Arguments know what they are: a Number takes the language's decimal sign, a
// time is written as a day, a list is joined with the language's "and", a
// Phrase among the arguments is said in the same language. Anything else, a
// board's name for one, is the author's and stays as it is.
package phrase
