package phrase

import (
	"cmp"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Language says phrases. It is safe for concurrent use.
type Language struct {
	tag     string // of BCP 47: "en-GB", "de"
	name    string // in the language itself: "Deutsch"
	decimal string
	space   string // between a number and its unit; no line breaks at it
	// look finds what is said for a message; several is its form for any number
	// but one, and not empty where that is wanted.
	look func(message, several string) (string, bool)
}

// English is the language that the messages are written in.
func English() *Language {
	return &Language{tag: "en-GB", name: "English", decimal: ".", space: NoBreak,
		look: func(string, string) (string, bool) { return "", false }}
}

// NoBreak is a space at which no line breaks.
const NoBreak = "\u00a0"

// Made is a language whose messages a function makes, with a decimal comma.
// Tests use it to find what is said beside the catalogues.
func Made(tag string, look func(message string) string) *Language {
	return &Language{tag: tag, name: tag, decimal: ",", space: NoBreak,
		look: func(m, several string) (string, bool) { return look(cmp.Or(several, m)), true }}
}

// Tag is the language's tag of BCP 47.
func (l *Language) Tag() string { return l.tag }

// Name is what the language calls itself.
func (l *Language) Name() string { return l.name }

// Space is what stands between a number and its unit.
func (l *Language) Space() string { return l.space }

// Text says a message. It is New and Say in one.
func (l *Language) Text(message string, args ...any) string { return l.Say(New(message, args...)) }

// Say says a phrase.
func (l *Language) Say(p Phrase) string {
	message, several := p.text, ""
	var args []any
	if p.several != "" && p.n != 1 {
		message, several = p.several, p.several
		args = append(args, l.count(p.n))
	}
	if p.text == "" {
		return ""
	}
	for _, a := range p.args {
		args = append(args, l.argument(a))
	}
	if message != verbatim {
		if said, ok := l.look(p.text, several); ok {
			message = said
		}
	}
	out := fmt.Sprintf(message, args...)
	if p.capital {
		r, n := utf8.DecodeRuneInString(out)
		out = string(unicode.ToUpper(r)) + out[n:]
	}
	return out
}

// argument makes an argument fit for package fmt.
func (l *Language) argument(a any) any {
	switch a := a.(type) {
	case Phrase:
		return l.Say(a)
	case Number:
		return l.Number(string(a))
	case word:
		return l.word(string(a))
	case time.Time:
		return l.Day(a)
	case []string:
		return l.List(a)
	case []Phrase:
		return l.List(l.Each(a))
	case float64:
		return decimal{a, l.decimal}
	}
	return a
}

func (l *Language) word(s string) string {
	if said, ok := l.look(s, ""); ok && s != "" {
		return said
	}
	return s
}

// Each says several phrases.
func (l *Language) Each(list []Phrase) []string {
	var out []string
	for _, p := range list {
		out = append(out, l.Say(p))
	}
	return out
}

// List joins names for reading: "core", "core and link", "core, link and pll".
func (l *Language) List(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return l.Text("%s and %s", strings.Join(names[:n-1], ", "), names[n-1])
	}
}

// Number writes a number or a quantity with the language's decimal sign.
func (l *Language) Number(s string) string {
	if l.decimal == "." {
		return s
	}
	var b strings.Builder
	for i := range len(s) {
		if s[i] == '.' && i > 0 && i+1 < len(s) && digit(s[i-1]) && digit(s[i+1]) {
			b.WriteString(l.decimal)
		} else {
			b.WriteByte(s[i])
		}
	}
	return b.String()
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// decimal is a number that package fmt formats, with another decimal sign.
type decimal struct {
	x    float64
	sign string
}

// Format writes the number as the verb says.
func (d decimal) Format(f fmt.State, verb rune) {
	_, _ = fmt.Fprint(f, strings.Replace(fmt.Sprintf(fmt.FormatString(f, verb), d.x), ".", d.sign, 1)) // fmt.State does not fail
}
