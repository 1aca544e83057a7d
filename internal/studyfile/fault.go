package studyfile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// maxShown limits how many faults are printed; a file with more has usually one
// cause near the top.
const maxShown = 200

// FaultAt is one thing wrong at one place of a file.
type FaultAt struct {
	File         string
	Line, Column int    // from 1; a column counts characters
	Field        string // keys from the root, "boards › Otter › rails › core › tap"; empty for the file itself
	Message      string // what is wrong
	Accept       string // what would be accepted; may be empty

	path []string
}

// String gives the fault on one line, as a compiler would.
func (f FaultAt) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d:%d: ", f.File, f.Line, f.Column)
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	b.WriteString(f.Message)
	if f.Accept != "" {
		b.WriteString(" (accepted: " + f.Accept + ")")
	}
	return b.String()
}

// Faults is everything that is wrong with one file, in the order of its lines.
type Faults struct {
	List []FaultAt
}

// Error gives every fault on a line of its own, up to 200.
func (f *Faults) Error() string {
	var b strings.Builder
	for i, x := range f.List {
		if i == maxShown {
			fmt.Fprintf(&b, "\nand %d more", len(f.List)-maxShown)
			break
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(x.String())
	}
	return b.String()
}

// sorted puts faults in the order of the file and leaves out repetitions: the
// same message at the same place, as a default shared by many rails gives.
func sorted(list []FaultAt) []FaultAt {
	slices.SortStableFunc(list, func(a, b FaultAt) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Message, b.Message))
	})
	return slices.CompactFunc(list, func(a, b FaultAt) bool {
		return a.Line == b.Line && a.Column == b.Column && a.Message == b.Message
	})
}
