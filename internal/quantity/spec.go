package quantity

import "strings"

const specForms = "±(0.5 % of reading + 3 digits), ±(1.5 % + 10 mA after zero), ±(50 ppm + 6 ppm of range), ±2 digits"

// Spec is one line of a specification sheet: the half width of an instrument's error is
//
//	Reading·|reading| + Range·range + Digits·(value of one digit) + Fixed
//
// All parts are at least zero.
type Spec struct {
	Reading   float64 // fraction of the reading
	Range     float64 // fraction of the range
	Digits    float64 // counts of the last digit
	Fixed     float64 // in SI of Unit; of a temperature, kelvins
	Unit      Unit
	AfterZero bool    // the line holds only after zeroing
	K         float64 // coverage factor where one is written, else 0
	Level     float64 // coverage probability where one is written, else 0
}

// ParseSpec reads a line of a specification sheet for readings of the wanted unit. A percentage
// without "of" is of the reading. The error is an *Error.
func ParseSpec(text string, want Unit) (Spec, error) {
	s, err := newScanner(text, maxLine, specForms)
	if err != nil {
		return Spec{}, err
	}
	p := &specParser{scanner: s, spec: Spec{Unit: want}}
	if err := p.body(); err != nil {
		return Spec{}, err
	}
	at := p.pos
	c, err := p.coverage()
	if err != nil {
		return Spec{}, err
	}
	if c.dof != 0 {
		return Spec{}, p.fail(at, specForms, "a line of a specification sheet has no degrees of freedom")
	}
	p.spec.K, p.spec.Level = c.k, c.level
	p.afterZero()
	p.space()
	if !p.done() {
		return Spec{}, p.unexpected(specForms)
	}
	return p.spec, nil
}

// specParser gathers the terms of a line.
type specParser struct {
	*scanner
	spec Spec
	seen struct{ reading, rng, digits, fixed bool }
}

// body reads ±(term + term ...), with or without the sign and the bracket; "±0.5 % ±2 digits" is
// read as the same sum.
func (p *specParser) body() error {
	p.plusMinus()
	p.space()
	_, bracket := p.lit("(")
	for {
		p.space()
		if err := p.term(); err != nil {
			return err
		}
		p.afterZero()
		p.space()
		if bracket {
			if _, ok := p.lit(")"); ok {
				break
			}
		}
		if p.plusMinus() {
			continue
		}
		if _, ok := p.lit("+"); ok {
			continue
		}
		if bracket {
			return p.unexpected(specForms)
		}
		break
	}
	p.afterZero()
	return nil
}

// afterZero takes the remark that the line holds only after zeroing.
func (p *specParser) afterZero() {
	t := *p.scanner
	t.space()
	t.lit(",")
	t.space()
	if _, ok := t.word("after zero", "after zeroing", "after zero set", "zeroed"); ok {
		*p.scanner = t
		p.spec.AfterZero = true
	}
}

// term reads one part of the sum.
func (p *specParser) term() error {
	at := p.pos
	if r := p.peek(); r == '+' || isDash(r) {
		return p.fail(at, specForms, "a specification has no sign but ±")
	}
	n, err := p.number(false)
	if err != nil {
		return err
	}
	p.space()
	if _, ok := p.word("digits", "digit", "dgts", "dgt", "counts", "count", "cts", "lsd"); ok || p.spec.Unit != Second && p.dayless() {
		return p.put(&p.spec.Digits, &p.seen.digits, n, measure{scale: power10(0)}, None, "digits")
	}
	m, err := p.measure(p.spec.Unit, false)
	switch {
	case err != nil:
		return err
	case m == nil && p.spec.Unit == None:
		return p.put(&p.spec.Fixed, &p.seen.fixed, n, measure{scale: power10(0)}, None, "a fixed amount")
	case m == nil:
		return p.fail(n.end, specForms, "a unit, %% or the word digits is missing")
	case m.unit != None:
		return p.put(&p.spec.Fixed, &p.seen.fixed, n, *m, p.spec.Unit, "a fixed amount")
	}
	p.space()
	if _, ok := p.word("of range", "of the range", "of rng", "of full scale", "of fs", "of f.s", "range", "rng", "full scale", "fs", "f.s"); ok {
		p.lit(".")
		return p.put(&p.spec.Range, &p.seen.rng, n, *m, None, "range")
	}
	if _, ok := p.word("of reading", "of the reading", "of rdg", "of value", "of measured value", "reading", "rdg"); ok {
		p.lit(".")
	}
	return p.put(&p.spec.Reading, &p.seen.reading, n, *m, None, "reading")
}

// dayless takes d for digits, which is a day only where a time is specified.
func (p *specParser) dayless() bool {
	_, ok := p.word("d")
	return ok
}

// put stores a part that is not there yet.
func (p *specParser) put(field *float64, seen *bool, n number, m measure, unit Unit, name string) error {
	if *seen {
		return p.fail(n.start, specForms, "a second part for %s", name)
	}
	a, err := p.convert(n, m, unit, true)
	if err != nil {
		return err
	}
	*field, *seen = a.float(), true
	return nil
}

// String writes the line so that ParseSpec reads the same Spec from it.
func (s Spec) String() string { return "±" + s.sum() + coverageText(s.K, s.Level, 0) }

// sum writes the parts, in brackets where there are several.
func (s Spec) sum() string {
	var parts []string
	if s.Reading != 0 {
		parts = append(parts, fractionText(s.Reading)+" of reading")
	}
	if s.Range != 0 {
		parts = append(parts, fractionText(s.Range)+" of range")
	}
	if s.Digits == 1 {
		parts = append(parts, "1 digit")
	} else if s.Digits != 0 {
		parts = append(parts, significant(s.Digits, 0).String()+" digits")
	}
	if s.Fixed != 0 {
		parts = append(parts, shortest(s.Fixed, difference(s.Unit)))
	}
	if len(parts) == 0 {
		parts = append(parts, "0 %")
	}
	text := strings.Join(parts, " + ")
	if s.AfterZero {
		text += " after zero"
	}
	if len(parts) > 1 {
		text = "(" + text + ")"
	}
	return text
}

// fractionText writes a fraction in % or, where small, in ppm, so that it reads back the same.
func fractionText(x float64) string {
	if d := significant(x, 0); d.power() < -5 {
		return d.shift(6).String() + " ppm"
	} else {
		return d.shift(2).String() + " %"
	}
}

// shortest writes x with the fewest digits that read back as x.
func shortest(x float64, u Unit) string {
	d := significant(x, 0)
	return prefixFor(u, d).label(d)
}
