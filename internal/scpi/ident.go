package scpi

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// Ident is what a meter answers to *IDN?. A field that the meter left out, or
// gave as "0", is empty.
type Ident struct {
	Maker, Model, Serial, Firmware string
}

// String gives model and serial number, as an instrument is told apart.
func (id Ident) String() string {
	parts := []string{id.Maker, id.Model}
	text := strings.TrimSpace(strings.Join(parts, " "))
	if id.Serial != "" {
		text += ", serial " + id.Serial
	}
	return strings.TrimPrefix(text, ", ")
}

// ParseIdent reads the answer to *IDN?: four fields separated by commas (IEEE
// 488.2, 10.14). Commas beyond the third belong to the firmware. Fewer fields
// are taken as they are, since many meters give fewer; no field, or bytes that
// are not text, are an error.
func ParseIdent(response string) (Ident, error) {
	text := strings.TrimSpace(response)
	if text == "" {
		return Ident{}, fmt.Errorf("empty identification; four fields as in MAKER,MODEL,SERIAL,FIRMWARE are accepted")
	}
	const most = 300 // the standard allows 72 characters (from memory)
	if len(text) > most || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return Ident{}, fmt.Errorf("identification %s; four fields of text are accepted", quoted(text))
	}
	fields := append(strings.SplitN(text, ",", 4), "", "", "")[:4]
	for i, f := range fields {
		f = strings.TrimSpace(strings.Trim(strings.TrimSpace(f), `"`))
		if f == "0" {
			f = ""
		}
		fields[i] = f
	}
	id := Ident{fields[0], fields[1], fields[2], fields[3]}
	if id == (Ident{}) {
		return Ident{}, fmt.Errorf("identification %s names nothing", quoted(text))
	}
	return id, nil
}

// Fault is one entry of a meter's error queue.
type Fault struct {
	Code int
	Text string
}

// Error gives the entry as the meter would.
func (f Fault) Error() string { return fmt.Sprintf("%d, %s", f.Code, f.Text) }

// Class says what the number's range means (SCPI-1999 volume 2, 21.8; ranges from
// memory), for a reader who does not know the list.
func (f Fault) Class() string {
	switch c := f.Code; {
	case c == 0:
		return "no error"
	case c <= -100 && c > -200:
		return "the meter did not understand the command"
	case c <= -200 && c > -300:
		return "the meter could not carry out the command"
	case c <= -300 && c > -400:
		return "the meter has trouble of its own"
	case c <= -400 && c > -500:
		return "question and answer got out of step"
	case c > 0:
		return "the meter's own number; its manual explains it"
	}
	return "an event"
}

// ParseFault reads the answer to SYSTem:ERRor?: a number, and a text in quotes
// within which a quote is doubled. The text may be missing.
func ParseFault(response string) (Fault, error) {
	text := strings.TrimSpace(response)
	number, rest, _ := strings.Cut(text, ",")
	code, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || code < -32768 || code > 32767 {
		return Fault{}, fmt.Errorf(`error queue entry %s; a number and a text as in -113,"Undefined header" are accepted`, quoted(text))
	}
	return Fault{code, unquote(strings.TrimSpace(rest))}, nil
}

// unquote takes the quotes off a string parameter; what is not quoted stays.
func unquote(s string) string {
	for _, q := range []string{`"`, `'`} {
		if len(s) >= 2 && strings.HasPrefix(s, q) && strings.HasSuffix(s, q) {
			return strings.ReplaceAll(s[1:len(s)-1], q+q, q)
		}
	}
	return s
}
