// Package logfile reads the logs that meters, loggers and oscilloscopes write as delimited text.
//
// # The model
//
// Detect looks at the head of a file and proposes a Profile: a plain value that says how the bytes are
// coded, where the table begins, what separates its fields, what the columns mean and how times are
// written. Each field is explained by a Finding; those that the file does not settle are marked as
// questions. A person changes what is wrong, and the profile serves again for every file with the
// same Fingerprint.
//
// Import reads a whole log as a profile says. It works in blocks of half a MiB on all processors and
// hands samples on in the order of the file, so its memory does not depend on the file's size. Load
// does the same into memory.
//
// # What is never done
//
// A value is never guessed: a cell that cannot be read counts as missing and is told, an overload keeps
// its place as an infinity, a clamp's volts stay volts until a person gives the scale. A number is
// rounded once, to the nearest float64 of what was written with its prefix. Rows of different rates
// are never paired by their row number.
package logfile
