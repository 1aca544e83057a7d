package quantity

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Bounds on what is read, so that a pasted file fails quickly and plainly.
const (
	maxLine    = 4096    // bytes of a specification, ratio or wire
	maxEntry   = 1 << 17 // bytes of an entry; room for maxRepeats numbers
	maxRepeats = 10_000  // values of one entry
)

// scanner walks a text. It holds no references that change, so a copy of it is a place to return to.
type scanner struct {
	text string
	pos  int
	mark rune // the decimal mark met so far, '.' or ','; 0 before the first
}

// newScanner refuses a text that is empty, too long or not text.
func newScanner(text string, limit int, accept string) (*scanner, error) {
	s := &scanner{text: text}
	switch {
	case len(text) > limit:
		return nil, &Error{Text: clip(text, 64), Msg: fmt.Sprintf("the text is longer than %d bytes", limit), Accept: accept}
	case !utf8.ValidString(text):
		return nil, &Error{Text: strings.ToValidUTF8(clip(text, 64), "?"), Msg: "the text is not valid UTF-8", Accept: accept}
	}
	s.space()
	if s.done() {
		return nil, &Error{Msg: "nothing is written", Accept: accept}
	}
	return s, nil
}

// fail makes the error for the text at a byte offset.
func (s *scanner) fail(at int, accept, format string, args ...any) error {
	return &Error{Text: s.text, Offset: at, Msg: fmt.Sprintf(format, args...), Accept: accept}
}

// unexpected is the error for whatever stands at the current place.
func (s *scanner) unexpected(accept string) error {
	if s.done() {
		return s.fail(s.pos, accept, "the text ends too early")
	}
	return s.fail(s.pos, accept, "unexpected %q", clip(s.field(), 16))
}

// field returns the text up to the next space.
func (s *scanner) field() string {
	rest := s.rest()
	if i := strings.IndexFunc(rest, unicode.IsSpace); i > 0 {
		return rest[:i]
	}
	return rest
}

func (s *scanner) rest() string { return s.text[s.pos:] }
func (s *scanner) done() bool   { return s.pos >= len(s.text) }

// peek returns the next rune, or 0 at the end.
func (s *scanner) peek() rune {
	r, n := utf8.DecodeRuneInString(s.rest())
	if n == 0 {
		return 0
	}
	return r
}

// before returns the rune that ends at the current place, or 0 at the start.
func (s *scanner) before() rune {
	r, n := utf8.DecodeLastRuneInString(s.text[:s.pos])
	if n == 0 {
		return 0
	}
	return r
}

// space skips white space and reports whether there was any.
func (s *scanner) space() bool {
	from := s.pos
	for !s.done() {
		r, n := utf8.DecodeRuneInString(s.rest())
		if !unicode.IsSpace(r) {
			break
		}
		s.pos += n
	}
	return s.pos > from
}

// lit takes one of the given texts, the first that fits, and reports which.
func (s *scanner) lit(options ...string) (string, bool) {
	for _, o := range options {
		if strings.HasPrefix(s.rest(), o) {
			s.pos += len(o)
			return o, true
		}
	}
	return "", false
}

// word takes one of the given lower-case words or phrases in any case, where it stands alone.
// A space in a phrase stands for any white space.
func (s *scanner) word(options ...string) (string, bool) {
	for _, o := range options {
		t := *s
		fits := true
		for i, part := range strings.Fields(o) {
			if i > 0 && !t.space() {
				fits = false
				break
			}
			if len(t.rest()) < len(part) || !strings.EqualFold(t.rest()[:len(part)], part) {
				fits = false
				break
			}
			t.pos += len(part)
		}
		if next := t.peek(); fits && !unicode.IsLetter(next) && !isDigit(next) {
			*s = t
			return o, true
		}
	}
	return "", false
}

// next reports whether r follows, spaces aside.
func (s scanner) next(r rune) bool {
	s.space()
	return s.peek() == r
}

// plusMinus takes a ± sign in any of its spellings.
func (s *scanner) plusMinus() bool {
	_, ok := s.lit("±", "+/-", "+/−", "+/–", "+-", "+−", "-/+")
	return ok
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// isDash reports whether r is a hyphen, a minus or a dash: all stand for minus or for "to".
func isDash(r rune) bool {
	switch r {
	case '-', '−', '–', '—', '‐', '‑':
		return true
	}
	return false
}
