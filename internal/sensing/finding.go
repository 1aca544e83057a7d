package sensing

import "railtally/internal/phrase"

// Severity says how much a finding matters.
type Severity string

// From worst to mildest.
const (
	// Wrong: the figure is very likely not what it claims to be.
	Wrong Severity = "wrong"
	// Doubtful: something should be looked at before the figure is used.
	Doubtful Severity = "doubtful"
	// Note: worth knowing, and part of what an honest report says.
	Note Severity = "note"
)

// Finding is something about the readings that a careful colleague would point
// out, with what to do about it. It never stops a computation.
type Finding struct {
	Code     string        `json:"code"` // stable word for programs, such as "clamp-reversed"
	Severity Severity      `json:"severity"`
	Board    string        `json:"board,omitempty"`
	Sitting  string        `json:"sitting,omitempty"`
	Rail     string        `json:"rail,omitempty"`
	States   []string      `json:"states,omitempty"` // in which it was seen
	Text     phrase.Phrase `json:"text"`             // what was seen, a sentence
	Do       phrase.Phrase `json:"do"`               // what to do about it, a sentence
}
