package quantity

import (
	"fmt"
	"unicode/utf8"
)

// Error says what is wrong with a text, where, and what would be accepted in its place.
type Error struct {
	Text   string // the whole text as it was given
	Offset int    // the byte of Text where the trouble starts
	Msg    string // what is wrong, short and lower-case
	Accept string // what would be accepted, ready to be shown beside the field
}

// Error returns what is wrong and where; what would be accepted is left to the caller to show.
func (e *Error) Error() string {
	if e.Text == "" {
		return e.Msg
	}
	at := min(max(e.Offset, 0), len(e.Text))
	return fmt.Sprintf("%s, at character %d of %q", e.Msg, utf8.RuneCountInString(e.Text[:at])+1, clip(e.Text, 48))
}

// clip shortens a text to n runes so that a message stays one line.
func clip(text string, n int) string {
	count := 0
	for i := range text {
		if count == n {
			return text[:i] + "…"
		}
		count++
	}
	return text
}
