package redact

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"railtally/internal/study"
)

// replacement is a word to be left out, and what stands for it.
type replacement struct {
	word, alias string
	find        *regexp.Regexp
	// alone tells that the word counts only where it is no part of a longer one:
	// the first name Ada is in no adapter, and a number in no longer number.
	alone bool
	// part of a name: it is replaced in what the author wrote, but may stand in
	// what the program says. Others are not people.
	part bool
}

// searchedWord and searchedNumber are how many letters or figures a word, or
// one with a figure in it, must have to be looked for outside the field that it
// belongs to: the serial number 12 would be found in readings.
const (
	searchedWord   = 3
	searchedNumber = 4
)

// serialIn finds a serial number where it is said to be one.
var serialIn = regexp.MustCompile(`(?i)(?:\bserial(?:\s+(?:number|no\.?))?|\bs/?n|\bno\.|\bnr\.|№|#)\s*[:#]?\s*([\pL\d][\pL\d./-]*)`)

// wordsOf lists everything that is to be left out, the longest first, so that a
// name is replaced before a part of it.
func wordsOf(s *study.Study, o Options) ([]replacement, error) {
	a := &aliases{key: o.Key, known: map[string]string{}}
	if slices.Contains(o.Kinds, Names) {
		for _, x := range s.Sittings {
			a.person(x.By, "tester")
		}
		each(s, func(_ *study.Instrument, c *study.Calibration) { a.person(c.By, "laboratory") })
	}
	if slices.Contains(o.Kinds, Serials) {
		for _, in := range s.Instruments {
			a.serial(in.Ident)
		}
	}
	for _, w := range o.Words {
		if utf8.RuneCountInString(strings.TrimSpace(w)) < 2 {
			return nil, fmt.Errorf("the word %q is too short to be left out everywhere: two letters or more are accepted", w)
		}
		a.add(strings.TrimSpace(w), "withheld", false)
	}
	slices.SortStableFunc(a.out, func(x, y replacement) int { return len(y.word) - len(x.word) })
	return a.out, nil
}

// each visits every calibration.
func each(s *study.Study, f func(*study.Instrument, *study.Calibration)) {
	for _, in := range s.Instruments {
		if in.Calibration != nil {
			f(in, in.Calibration)
		}
		for _, r := range in.Ranges {
			if r.Calibration != nil {
				f(in, r.Calibration)
			}
		}
	}
}

// aliases gathers words with what stands for them.
type aliases struct {
	key   []byte
	known map[string]string
	count map[string]int
	out   []replacement
}

// alias is what stands for a word of a kind.
func (a *aliases) alias(kind, word string) string {
	if len(a.key) > 0 {
		mac := hmac.New(sha256.New, a.key)
		mac.Write([]byte(kind + "\x00" + strings.ToLower(word)))
		return kind + " " + hex.EncodeToString(mac.Sum(nil))[:8]
	}
	if a.count == nil {
		a.count = map[string]int{}
	}
	a.count[kind]++
	return fmt.Sprintf("%s %d", kind, a.count[kind])
}

// add gives a word an alias, once. A part of a name is looked for only as it is
// written, and by itself.
func (a *aliases) add(word, alias string, part bool) {
	if word == "" || a.known[word] != "" {
		return
	}
	a.known[word] = alias
	flag := "(?i)"
	if part {
		flag = ""
	}
	alone := part || strings.ContainsFunc(word, unicode.IsDigit) || utf8.RuneCountInString(word) <= searchedWord
	a.out = append(a.out, replacement{word, alias, regexp.MustCompile(flag + regexp.QuoteMeta(word)), alone, part})
}

// common are words that many names of laboratories share.
var common = []string{"The", "Laboratory", "Laboratories", "Lab", "Labs", "Calibration", "Service", "Services", "Institute", "University", "Department", "Company", "Works"}

// person gives a name an alias, and its parts the same one.
func (a *aliases) person(name, kind string) {
	name = strings.TrimSpace(name)
	if name == "" || a.known[name] != "" {
		return
	}
	alias := a.alias(kind, name)
	a.add(name, alias, false)
	for part := range strings.FieldsFuncSeq(name, func(r rune) bool { return !unicode.IsLetter(r) && r != '-' && r != '\'' && r != '’' }) {
		first, _ := utf8.DecodeRuneInString(part)
		if utf8.RuneCountInString(part) >= 3 && unicode.IsUpper(first) && !slices.Contains(common, part) {
			a.add(part, alias, true)
		}
	}
}

// serial gives the serial number in an identity an alias. Where nothing says
// which part of the identity is the number, all of it is left out.
func (a *aliases) serial(ident string) {
	ident = strings.TrimSpace(ident)
	if ident == "" || a.known[ident] != "" {
		return
	}
	for _, m := range serialIn.FindAllStringSubmatch(ident, -1) {
		if n := strings.TrimRight(m[1], ".-/"); strings.ContainsFunc(n, unicode.IsDigit) {
			a.add(n, a.alias("withheld", n), false)
			return
		}
	}
	a.add(ident, a.alias("identity withheld", ident), false)
}

// long tells whether a word can be looked for outside its own field.
func (w replacement) long() bool {
	if strings.ContainsFunc(w.word, unicode.IsDigit) {
		return utf8.RuneCountInString(w.word) >= searchedNumber
	}
	return utf8.RuneCountInString(w.word) >= searchedWord
}

// in replaces the word in a text wherever it stands.
func (w replacement) in(text string) string {
	var b strings.Builder
	rest := 0
	for _, at := range w.find.FindAllStringIndex(text, -1) {
		if w.alone && !wordAt(text, at[0], at[1]) {
			continue
		}
		b.WriteString(text[rest:at[0]])
		b.WriteString(w.alias)
		rest = at[1]
	}
	b.WriteString(text[rest:])
	return b.String()
}

// wordAt tells whether a stretch of a text is not part of a longer word or
// number.
func wordAt(text string, from, to int) bool {
	if digitPoint(text[:from], false) || digitPoint(text[to:], true) {
		return false
	}
	before, _ := utf8.DecodeLastRuneInString(text[:from])
	after, _ := utf8.DecodeRuneInString(text[to:])
	first, _ := utf8.DecodeRuneInString(text[from:])
	last, _ := utf8.DecodeLastRuneInString(text[:to])
	return !(inWord(before) && inWord(first)) && !(inWord(after) && inWord(last))
}

// digitPoint tells whether a number goes on beyond a decimal point at the end,
// or with ahead the beginning, of a text: the 75 of 0.75 is no number.
func digitPoint(s string, ahead bool) bool {
	if len(s) < 2 {
		return false
	}
	point, digit := s[len(s)-1], s[len(s)-2]
	if ahead {
		point, digit = s[0], s[1]
	}
	return point == '.' && digit >= '0' && digit <= '9'
}

func inWord(r rune) bool { return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r)) }

// Text leaves things out of a text that belongs to the study, such as the note
// to a photograph or the name of a log.
func (r *Result) Text(s string) string {
	for _, w := range r.words {
		if w.long() {
			s = w.in(s)
		}
	}
	return s
}

// Note is Text for a note, which may be left out altogether.
func (r *Result) Note(s string) string {
	if r.notes {
		return ""
	}
	return r.Text(s)
}

// Find returns the words that were to be left out and yet stand in a text that
// is to be published. Parts of names are not looked for; see replacement.
func (r *Result) Find(text []byte) []string {
	var out []string
	s := string(text)
	for _, w := range r.words {
		if w.long() && !w.part && w.in(s) != s {
			out = append(out, w.word)
		}
	}
	return out
}
