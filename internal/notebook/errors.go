package notebook

import (
	"errors"
	"fmt"
	"strings"
)

// Code says what kind of trouble an Error is, for exit statuses and pages.
type Code string

// The kinds of trouble with a notebook.
const (
	NotFound    Code = "not found"      // no such study, entry, file
	Invalid     Code = "invalid"        // what was given cannot be kept
	Conflicting Code = "conflict"       // somebody else was faster; see Conflict, PlanConflict and Taken
	NotNotebook Code = "not a notebook" // the file is something else
	Corrupt     Code = "corrupt"        // the file is damaged
	Newer       Code = "newer"          // written by a later version of the program
	ReadOnly    Code = "read-only"      // the file or its folder cannot be written
	Full        Code = "full"           // no space left
	Locked      Code = "locked"         // another process keeps the file to itself
	Exists      Code = "exists"         // a file is in the way
	Failed      Code = "failed"         // anything else
)

// Error is what went wrong with a notebook. Its text says what was done to
// what, and why that failed; Hint says what a person can do about it.
type Error struct {
	Code Code
	Op   string // what was done: "open notebook"
	Path string // the file; may be empty
	Hint string // may be empty
	Err  error  // the cause; may be nil where Code says it all
}

// Error gives operation, file and cause on one line, without the hint.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Op)
	if e.Path != "" {
		b.WriteString(" " + e.Path)
	}
	if e.Err != nil {
		b.WriteString(": " + e.Err.Error())
	} else {
		b.WriteString(": " + string(e.Code))
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// CodeOf returns the code of the first Error in the chain of err, Conflicting
// for the three kinds of conflict, and Failed for anything else.
func CodeOf(err error) Code {
	var e *Error
	var c *Conflict
	var p *PlanConflict
	var t *Taken
	switch {
	case errors.As(err, &c), errors.As(err, &p), errors.As(err, &t):
		return Conflicting
	case errors.As(err, &e):
		return e.Code
	}
	return Failed
}

// HintOf returns what a person can do about err, or "".
func HintOf(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Hint
	}
	return ""
}

// Conflict refuses a change that was made from a row that is no longer the
// head of its chain.
type Conflict struct {
	What  What
	Based int64  // the row the change was made from
	Head  int64  // the row that holds now
	Entry *Entry // the head, when it is an entry
}

// Error says which row was meant and which holds now.
func (c *Conflict) Error() string {
	return fmt.Sprintf("%s %d was changed meanwhile: %d holds now", c.What, c.Based, c.Head)
}

// PlanConflict refuses a revision of a plan that was made from one that is no
// longer the newest. It holds both, so that a page can show what differs.
type PlanConflict struct {
	Based, Head *Plan
}

// Error says which revision was meant and which holds now.
func (c *PlanConflict) Error() string {
	return fmt.Sprintf("the plan was changed meanwhile: revision %d was edited, %d holds now", c.Based.ID, c.Head.ID)
}

// Taken refuses an entry where another stands already: the same tap read twice
// in one step, from two devices perhaps.
type Taken struct {
	By Entry
}

// Error says what stands there.
func (t *Taken) Error() string {
	return fmt.Sprintf("%s was entered already: %s", t.By.Content.about(), t.By.Text)
}

// damaged says that a row cannot be read that could be when it was kept.
func damaged(where string, err error) error {
	if err == nil {
		return nil
	}
	return &Error{Code: Corrupt, Op: "read " + where, Err: err,
		Hint: "the file is damaged; keep a copy of it, run railtally check, then restore the latest backup with railtally restore"}
}

// invalid refuses what was given.
func invalid(op, format string, a ...any) error {
	return &Error{Code: Invalid, Op: op, Err: fmt.Errorf(format, a...)}
}

// missing says that there is no such row.
func missing(op string, what What, id int64) error {
	return &Error{Code: NotFound, Op: op, Err: fmt.Errorf("no %s %d", what, id)}
}
