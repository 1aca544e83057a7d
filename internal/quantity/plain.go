package quantity

import (
	"strconv"
	"strings"
)

// plainUnits are the spellings that nearly every reading is written in, with
// the power of ten that brings them to SI. What is not here is not refused; it
// takes the general way.
var plainUnits = map[Unit]map[string]int{
	Volt:    {"V": 0, "mV": -3, "µV": -6, "uV": -6},
	Ampere:  {"A": 0, "mA": -3, "µA": -6, "uA": -6},
	Celsius: {"°C": 0},
	Watt:    {"W": 0, "mW": -3},
}

// plainDigits is how many digits a plain number may have: strconv rounds any
// number correctly, but the general way has limits of its own to check.
const plainDigits = 15

// parsePlain reads the two commonest forms, "402.1 mV" and "118.4 118.9 mV",
// without big numbers: a notebook reads thousands of them. It gives the same
// entry as the general parser, or ok false for anything it is not sure of.
func parsePlain(text string, want Unit) (e Entry, ok bool) {
	units := plainUnits[want]
	at := strings.LastIndexByte(text, ' ')
	if units == nil || at <= 0 {
		return Entry{}, false
	}
	exp, known := units[text[at+1:]]
	if !known {
		return Entry{}, false
	}
	for rest := text[:at]; rest != ""; {
		word, after, more := strings.Cut(rest, " ")
		decimals, plain := plainNumber(word)
		if !plain || more && after == "" {
			return Entry{}, false
		}
		v, err := strconv.ParseFloat(word+"e"+strconv.Itoa(exp), 64)
		step, err2 := strconv.ParseFloat("1e"+strconv.Itoa(exp-decimals), 64)
		if err != nil || err2 != nil {
			return Entry{}, false
		}
		// Whole numbers side by side may be one number in groups of three.
		if decimals == 0 && (more || len(e.Values) > 0) {
			return Entry{}, false
		}
		e.Values, e.Step = append(e.Values, v), max(e.Step, step)
		rest = after
	}
	if len(e.Values) > 1 {
		e.Kind = Repeats
	}
	e.Unit, e.Text = want, text
	return e, true
}

// plainNumber tells whether a word is an optional minus, digits, and perhaps a
// point with digits behind it; and how many those are.
func plainNumber(word string) (decimals int, ok bool) {
	digits := strings.TrimPrefix(word, "-")
	if len(digits) == 0 || len(digits) > plainDigits {
		return 0, false
	}
	whole, fraction, point := strings.Cut(digits, ".")
	if whole == "" || point && fraction == "" {
		return 0, false
	}
	for _, part := range []string{whole, fraction} {
		for i := range len(part) {
			if part[i] < '0' || part[i] > '9' {
				return 0, false
			}
		}
	}
	return len(fraction), true
}
