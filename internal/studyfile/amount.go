package studyfile

import (
	"errors"
	"strings"

	"railtally/internal/quantity"
)

// entry reads a quantity of the wanted unit. like is a quantity such as is
// expected here ("0.951 V"); its unit is proposed where a bare number stands,
// since a file is read later by people who were not there.
func (p place) entry(want quantity.Unit, like string) (quantity.Entry, bool) {
	text, ok := p.text(like)
	if !ok {
		return quantity.Entry{}, false
	}
	e, err := quantity.Parse(text, want, "")
	if err != nil {
		p.failQuantity(text, want, like, err)
		return quantity.Entry{}, false
	}
	return e, true
}

// optional reads a quantity for a field of the record that may be absent.
func (f fields) optional(key string, want quantity.Unit, like string) *quantity.Entry {
	p, ok := f.get(key)
	if !ok {
		return nil
	}
	e, ok := p.entry(want, like)
	if !ok {
		return nil
	}
	return &e
}

// failQuantity reports a text that is not the quantity wanted.
func (p place) failQuantity(text string, want quantity.Unit, like string, err error) {
	if unit := unitOf(like); unit != "" {
		if _, e := quantity.Parse(text, want, unit); e == nil {
			p.fail(text+" "+unit, "%q has no unit, and a file must say it", text)
			return
		}
	}
	p.failed(err, like)
}

// failed reports the error of one of quantity's parsers.
func (p place) failed(err error, like string) {
	accept := "as in " + like
	var q *quantity.Error
	if errors.As(err, &q) && q.Accept != "" {
		accept = q.Accept
	}
	p.fail(accept, "%s", err)
}

// unitOf takes the unit off an example: "mV" of "9.6 mV", "°C" of "23 ± 1 °C",
// "" of "0.9".
func unitOf(like string) string {
	for _, w := range strings.Fields(like) {
		if c := strings.TrimLeft(w, "±-"); c != "" && c[0] != '(' && (c[0] < '0' || c[0] > '9') {
			return w
		}
	}
	return ""
}

// half reads a half-width such as ±0.5 % or ±2 µV, with or without its sign.
func (f fields) half(key string, want quantity.Unit, like string) float64 {
	p, ok := f.get(key)
	if !ok {
		return 0
	}
	text, ok := p.text(like)
	if !ok {
		return 0
	}
	bare := text
	for _, sign := range []string{"±", "+/-", "+-"} {
		if rest, ok := strings.CutPrefix(text, sign); ok {
			bare = strings.TrimSpace(rest)
			break
		}
	}
	if want == quantity.None && !strings.ContainsAny(bare, "%‰p") {
		p.fail(like, "%q has no unit, and a file must say it", text)
		return 0
	}
	x, err := quantity.Value(bare, want, "")
	if err != nil {
		p.failed(err, like)
		return 0
	}
	if x < 0 {
		p.fail(like, "%q is negative; a half-width is not", text)
		return 0
	}
	return x
}

// ratio reads a quotient of two units such as "1 mV per 10 mA".
func (f fields) ratio(key string, num, den quantity.Unit, like string) float64 {
	p, ok := f.get(key)
	if !ok {
		return 0
	}
	text, ok := p.text(like)
	if !ok {
		return 0
	}
	x, err := quantity.ParseRatio(text, num, den)
	if err != nil {
		p.failed(err, like)
		return 0
	}
	return x
}
