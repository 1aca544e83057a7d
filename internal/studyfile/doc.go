// Package studyfile is the text form of a study: a YAML file that a person can
// write, read, compare and publish.
//
// Reading goes through four stages, each in files of its own:
//
//	bytes ──► guard ──► tree ──► read_* ──► study.Check
//
// guard refuses what is not the text of one small YAML document, before the
// YAML parser can be hurt by it. tree turns the parser's syntax tree into
// mappings, lists and texts that know their line and column, and no more: no
// text is taken for a number, a date or a truth value, because a quantity must
// stay what was written. The read functions, one file per section, turn that
// into the record and collect faults instead of stopping at the first. Check
// then finds what is wrong with the meaning, and the index finds the line.
//
// Write is the reverse. Its text is canonical: one study has one text, and
// reading it gives the same study again.
package studyfile
