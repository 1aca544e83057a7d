package study

import "strings"

// Fault is one thing wrong with a study. Path names the place in the record as
// a list of keys from the root ("boards", "Otter", "rails", "core", "tap"), so
// that a file reader can point at a line and a page at a field.
type Fault struct {
	Path    []string
	Message string // what is wrong, lower case, without a full stop
	Accept  string // what would be accepted; empty when the message says it
}

// Error gives the fault on one line.
func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(strings.Join(f.Path, " › "))
	b.WriteString(": ")
	b.WriteString(f.Message)
	if f.Accept != "" {
		b.WriteString(" (accepted: ")
		b.WriteString(f.Accept)
		b.WriteString(")")
	}
	return b.String()
}
