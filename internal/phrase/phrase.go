package phrase

import (
	"reflect"
	"slices"
)

// Phrase is a message with its arguments. The zero Phrase says nothing.
type Phrase struct {
	text    string
	args    []any
	n       int    // how many, where there is a form for several
	several string // the message for more or fewer than one; "" where there is no other
	capital bool   // begins with a capital whatever the message does
}

// New makes a phrase of an English message, a format as package fmt knows it,
// and its arguments. The message is a literal, for the catalogues are checked
// against the source.
func New(message string, args ...any) Phrase { return Phrase{text: message, args: args} }

// Count makes a phrase about n things. one is the message for a single one,
// several that for any other number, whose first argument is the number in
// words, from thirteen on in digits; further arguments follow in both.
func Count(n int, one, several string, args ...any) Phrase {
	return Phrase{text: one, several: several, n: n, args: args}
}

// Name is a phrase that is the same in every language.
func Name(s string) Phrase { return Phrase{text: verbatim, args: []any{s}} }

// Word is a phrase of one of the record's own words, such as "buck", which the
// catalogues hold like a message. A word that they do not know stays as it is.
func Word[T ~string](s T) Phrase { return Phrase{text: verbatim, args: []any{word(s)}} }

// word is looked up, not formatted.
type word string

// verbatim is the message that is nothing but its argument.
const verbatim = "%s"

// Number is a number or quantity as package quantity prints it, "6.68 ± 0.10 W".
type Number string

// Capital is the phrase with a capital at its beginning.
func (p Phrase) Capital() Phrase {
	p.capital = true
	return p
}

// Then is the phrase followed by another one, with a space between them.
func (p Phrase) Then(next Phrase) Phrase {
	switch {
	case p.IsZero():
		return next
	case next.IsZero():
		return p
	}
	return New("%s %s", p, next)
}

// Equal tells that both say the same in every language.
func (p Phrase) Equal(q Phrase) bool {
	return p.text == q.text && p.several == q.several && p.n == q.n && p.capital == q.capital &&
		len(p.args) == len(q.args) && (len(p.args) == 0 || reflect.DeepEqual(p.args, q.args))
}

// IsZero tells that the phrase says nothing.
func (p Phrase) IsZero() bool { return p.text == "" }

// String says the phrase in English.
func (p Phrase) String() string { return English().Say(p) }

// MarshalText is the phrase in English, so that documents for programs do not
// change with the language of people.
func (p Phrase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText takes the text as it is, in whatever language.
func (p *Phrase) UnmarshalText(text []byte) error {
	*p = Phrase{}
	if len(text) > 0 {
		*p = Name(string(text))
	}
	return nil
}

// Strings says a list of phrases in English, for documents and the command line.
func Strings(list []Phrase) []string {
	var out []string
	for _, p := range list {
		out = append(out, p.String())
	}
	return slices.Clip(out)
}
