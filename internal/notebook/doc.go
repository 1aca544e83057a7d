// Package notebook is the store behind the bench: one SQLite file that a tester
// keeps for years, with many studies, the shelf of instruments, photographs of
// boards and every reading.
//
// # Nothing is overwritten
//
// Every table only grows. What a person may change later (an entry, a sitting,
// an instrument, a photograph, a pin, a tick) is a chain of rows: the first row is the
// thing itself and lends the chain its identity, each later row supersedes the
// one before it and says why. The head of the chain is what holds now. Taking
// something back is a row that is marked withdrawn, and undo is a row that says
// the same as an earlier one. Triggers in the file refuse UPDATE and DELETE, so
// this holds for other programs too.
//
//	entry 17  core 402.1 mV
//	entry 23  core 420.1 mV   supersedes 17   "two figures swapped"
//	entry 24  core 402.1 mV   supersedes 23   same as 17   "undo"
//
// A change names the row that it was made from. When that row is no longer the
// head, somebody else was faster: the change is refused with a Conflict that
// holds the other one, and nobody's work is lost. Rows are ordered by their id,
// which the file counts upwards, never by a clock.
//
// # What a study is made of
//
// The plan is everything of a study but its sittings and ticks. It is kept whole, as one
// canonical YAML text for each revision. Sittings have rows of their own, and
// what was done in them is a log of entries: a step begins, a zero, a current, a
// voltage. Record puts plan, sittings and entries together into the same
// study.Study that is read from a file, and Import takes one apart; going round
// in either direction loses nothing.
//
// An entry keeps the text exactly as it was typed and, for figures without a
// unit, which unit they stood for. Nothing is computed here.
//
// # Exactly once
//
// Each row carries a key that its sender chose. A sender that does not know
// whether a row arrived sends it again with the same key, and gets the answer it
// missed. A row is on disk (WAL, synchronous FULL) before it is acknowledged.
//
// # Traces
//
// A trace is a logged time series: channels whose samples are kept as compressed
// chunks with exact statistics and outlines (package trace/packed). A TraceWriter adds
// samples; what was committed is there even if the program dies, and the import
// of a log is resumed by importing it again, or given up without a trace. Readers
// take statistics of any window (TraceStats), its samples (TraceSamples) or a plot
// of any width (TraceView). What its channels are on the board is said in a
// mapping, which can be corrected like an entry.
//
// # Files
//
// open and pool hold the connections: one that writes, several that read.
// Package comments in the other files: chain (rows that supersede each other),
// plan, sitting, entry, photo and shelf (what there is), record and importer
// (from and to a study), event (who wants to know), backup, restore and check
// (care for the file), export (writing other files whole or not at all).
package notebook
