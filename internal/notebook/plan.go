package notebook

import (
	"time"

	"railtally/internal/study"
)

// Plan is one revision of everything that a study holds but its sittings.
type Plan struct {
	ID       int64
	StudyID  int64
	Based    int64 // the revision it was made from; 0 for the first
	SameAs   int64 // the earlier revision that it repeats; 0: it says something of its own
	Question string
	// Text is the canonical YAML of the plan. A plan that is not sound yet has
	// no such text; Draft is then set and Text is JSON.
	Text    string
	Draft   bool
	Renames []Rename
	Origin
	Accepted time.Time

	// Study is the plan itself, without sittings. It is nil in a history.
	Study *study.Study
}

// Rename says that a plan calls something by another name than the one before
// it. What was recorded under the old name is carried along by corrections.
type Rename struct {
	What Named `json:"what"`
	// In is what it belongs to: the board of a rail, the board of a tap, the
	// instrument of a range. Empty for boards, states and instruments. It is
	// the name before the change.
	In   string `json:"in,omitempty"`
	Rail string `json:"rail,omitempty"` // of a tap, by the name before the change
	From string `json:"from"`
	To   string `json:"to"`
}

// Named is a kind of thing that readings refer to by name.
type Named string

// What can be renamed.
const (
	NamedBoard      Named = "board"
	NamedRail       Named = "rail" // or input
	NamedTap        Named = "tap"
	NamedState      Named = "state"
	NamedInstrument Named = "instrument"
	NamedRange      Named = "range"
)
