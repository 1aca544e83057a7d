package quantity

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// measure is a unit as it was written behind a number, perhaps a quotient.
type measure struct {
	unit       Unit
	scale      *big.Rat // SI units in one of it
	kelvin     bool     // kelvin, from absolute zero where a temperature is wanted
	start, end int
}

// token takes the letters of one unit, without its exponent.
func (s *scanner) token() string {
	from := s.pos
	for {
		r := s.peek()
		switch {
		case r == '%' || r == '‰' || r == '℃':
			if s.pos == from {
				s.pos += utf8.RuneLen(r)
			}
			return s.text[from:s.pos]
		case r == '°' || r == 'º' || r == '˚' || unicode.IsLetter(r):
			s.pos += utf8.RuneLen(r)
			continue
		}
		break
	}
	t := s.text[from:s.pos]
	switch strings.ToLower(t) {
	case "°", "º", "˚", "deg": // "° C", "deg C"
		u := *s
		u.space()
		if _, ok := u.word("c"); ok {
			s.pos = u.pos
		}
	}
	if strings.HasSuffix(t, "m") {
		u := *s
		if _, ok := u.lit("²", "^2", "2"); ok && !isDigit(u.peek()) && u.peek() != '.' && u.peek() != ',' {
			s.pos = u.pos
		}
	}
	return s.text[from:s.pos]
}

// normal brings the look-alikes of a unit's letters to one form.
func normal(token string) string {
	t := strings.NewReplacer("º", "°", "˚", "°", "\u2126", "Ω", "\u212a", "K", "^2", "²").Replace(token)
	if strings.HasSuffix(t, "m2") {
		t = strings.TrimSuffix(t, "2") + "²"
	}
	switch strings.ToLower(strings.Join(strings.FieldsFunc(t, unicode.IsSpace), "")) {
	case "°c", "degc":
		return "°C"
	}
	return t
}

// keyword reports whether a run of letters behind a number is a word of the grammar.
func keyword(token string) bool {
	switch strings.ToLower(token) {
	case "to", "per", "of", "outside", "after", "and", "at", "from":
		return true
	}
	return false
}

// measure reads the unit behind a number where there is one. Quotients are read only where the
// caller allows them. want serves the hint that goes with an unknown unit.
func (s *scanner) measure(want Unit, quotients bool) (m *measure, err error) {
	t := *s
	t.space()
	m = &measure{start: t.pos, scale: big.NewRat(1, 1)}
	if quotients && want == PerKelvin {
		if t.pos > s.pos {
			if _, ok := t.lit("1/"); ok { // "0.0039 1/K"
				t.pos--
			}
		}
		if over, err := t.over(want, m); over || err != nil {
			if err == nil {
				*s = t
			}
			return m, err
		}
	}
	token := t.token()
	if token == "" || keyword(token) {
		return nil, nil
	}
	if u := t; u.next('=') { // "k=2" is no unit
		return nil, nil
	}
	u, err := t.spelledUnit(token, m.start, want)
	if err != nil {
		return nil, err
	}
	m.unit, m.scale, m.kelvin, m.end = u.atom.unit, u.scale, u.atom.kelvin, t.pos
	if m.unit == Volt || m.unit == Ampere { // "511 mV DC": everything here is
		dc := t
		dc.space()
		if _, ok := dc.word("dc"); ok {
			t = dc
		}
	}
	if quotients {
		if _, ok := t.lit("⁻¹", "^-1"); ok {
			per := measure{start: m.start, end: t.pos, scale: big.NewRat(1, 1)}
			if err := t.divide(&per, u, want); err != nil {
				return nil, err
			}
			*s = t
			return &per, nil
		}
		if _, err := t.over(want, m); err != nil {
			return nil, err
		}
	}
	*s = t
	return m, nil
}

// over reads "/unit" or "per unit" and divides m by it; without one nothing is taken.
func (s *scanner) over(want Unit, m *measure) (bool, error) {
	t := *s
	t.space()
	_, slash := t.lit("/")
	if !slash {
		if _, per := t.word("per"); !per {
			return false, nil
		}
	}
	t.space()
	at := t.pos
	token := t.token()
	if token == "" {
		return false, nil
	}
	u, err := t.spelledUnit(token, at, want)
	if err != nil {
		return false, err
	}
	m.end = t.pos
	if err := t.divide(m, u, want); err != nil {
		return false, err
	}
	*s = t
	return true, nil
}

// divide makes m a quotient. A temperature in a quotient is a difference.
func (s *scanner) divide(m *measure, den spelled, want Unit) error {
	num, d := difference(m.unit), difference(den.atom.unit)
	for u := None; u < numUnits; u++ {
		if c := dimensionOf(u); c.compound && c.num == num && c.den == d {
			m.unit, m.kelvin = u, false
			m.scale = new(big.Rat).Quo(m.scale, den.scale)
			return nil
		}
	}
	return s.fail(m.start, want.Accept(), "%s is no unit that is used here", s.text[m.start:m.end])
}

// difference turns the unit of a temperature into that of a difference.
func difference(u Unit) Unit {
	if u == Celsius {
		return Kelvin
	}
	return u
}

// spelledUnit resolves a token or says what was probably meant.
func (s *scanner) spelledUnit(token string, at int, want Unit) (spelled, error) {
	name := normal(token)
	if u, ok := resolve(name); ok {
		return u, nil
	}
	shown := *s
	shown.pos = at
	if err := shown.noReading(); err != nil {
		return spelled{}, err
	}
	d := dimensionOf(want)
	if found := slips(name, want, d.num, d.den); len(found) > 0 {
		return spelled{}, s.fail(at, "write "+strings.Join(found, " or "), "unknown unit %q; write %s", clip(token, 16), strings.Join(found, " or "))
	}
	switch name {
	case "°F", "degF":
		return spelled{}, s.fail(at, want.Accept(), "fahrenheit is not read")
	}
	return spelled{}, s.fail(at, want.Accept(), "unknown unit %q", clip(token, 16))
}
