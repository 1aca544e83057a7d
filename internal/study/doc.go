// Package study is the record of a measurement: what question was asked, of
// which boards, with which instruments, in which states, and what was read.
//
// The record holds what a person did and wrote, nothing that was computed.
// Quantities keep the form in which they were written (a value, repeats, a
// band, a tolerance) because that form decides their uncertainty later; the
// numbers inside are SI.
//
// A Study is read from its text form by package studyfile, or from a notebook;
// Check finds everything that is wrong with it at once. Things refer to each
// other by name, as a person writes them; Check makes sure that every name
// leads somewhere and means one thing.
package study
