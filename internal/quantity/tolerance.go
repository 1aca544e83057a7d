package quantity

import (
	"math/big"
	"unicode/utf8"
)

const toleranceForms = "±2 %, ±0.5 °C, +5/-3 %, ± 0.003 (k=2), ± 0.003 (95 %)"

// withTolerance reads the tolerance behind a value, if there is one, and makes the entry.
func (p *entryParser) withTolerance(v term) (Entry, bool, error) {
	var minus, plus term
	if p.plusMinus() {
		p.space()
		t, err := p.width()
		if err != nil {
			return Entry{}, false, err
		}
		minus, plus = t, t
	} else {
		var ok bool
		if minus, plus, ok = p.twoSided(); !ok {
			return Entry{}, false, nil
		}
	}
	e, err := p.tolerated(v, minus, plus)
	if err != nil {
		return Entry{}, false, err
	}
	return e, true, p.covered(&e)
}

// covered reads what the tolerance of an entry stands for.
func (p *entryParser) covered(e *Entry) error {
	c, err := p.coverage()
	e.Tol.K, e.Tol.Level, e.Tol.DOF = c.k, c.level, c.dof
	return err
}

// width reads a number that is not negative, with its unit.
func (p *entryParser) width() (term, error) {
	if r := p.peek(); r == '+' || isDash(r) {
		return term{}, p.fail(p.pos, toleranceForms, "a tolerance has no sign of its own")
	}
	return p.term(false)
}

// twoSided reads "+5/-3 %" or "+5 % -3 %"; the scanner stays where it was if it is neither.
// Without the slash both sides need a percentage, else they would be repeats.
func (p *entryParser) twoSided() (minus, plus term, ok bool) {
	back := *p.scanner
	defer func() {
		if !ok {
			*p.scanner = back
		}
	}()
	a, up, ok := p.side()
	if !ok {
		return minus, plus, false
	}
	p.space()
	_, slash := p.lit("/", ",")
	p.space()
	b, up2, ok := p.side()
	if !ok || up == up2 {
		return minus, plus, false
	}
	relative := func(t term) bool { return p.want != None && t.m != nil && t.m.unit == None }
	if !slash && !(relative(a) && relative(b)) {
		return minus, plus, false
	}
	if a.m == nil {
		a.m = b.m
	}
	if up {
		a, b = b, a
	}
	return a, b, true
}

// side reads one signed side of a tolerance.
func (p *entryParser) side() (t term, up, ok bool) {
	r := p.peek()
	if r != '+' && !isDash(r) {
		return t, false, false
	}
	p.pos += utf8.RuneLen(r)
	if !isDigit(p.peek()) && p.peek() != '.' {
		return t, false, false
	}
	t, err := p.term(false)
	return t, r == '+', err == nil
}

// tolerated makes the entry of a value and its two half widths. A percentage is of the value,
// except of a ratio, where it is refused when it could as well be points of percentage.
func (p *entryParser) tolerated(v, minus, plus term) (Entry, error) {
	relative := func(t term) bool { return t.m != nil && t.m.unit == None && (p.want != None || v.m == nil) }
	shared := plus.m
	if shared == nil {
		shared = minus.m
	}
	if shared != nil && shared.unit == None {
		shared = nil
	}
	mv, err := p.unit(v, shared)
	if err != nil {
		return Entry{}, err
	}
	a, err := p.convert(v.n, mv, p.want, false)
	if err != nil {
		return Entry{}, err
	}
	half := func(t term) (float64, error) {
		if p.want == None && t.m != nil && (v.m != nil || p.pct) {
			return 0, p.fail(t.n.start, "(50 ± 2) % for points, or 0.5 ± 4 % for a part of the value", "a percentage of a percentage could mean two things")
		}
		if relative(t) {
			if p.want == Celsius {
				return 0, p.fail(t.n.start, "±0.5 °C", "a percentage of a temperature means nothing")
			}
			if a.value.Sign() == 0 {
				return 0, p.fail(t.n.start, "a tolerance with a unit", "a percentage of zero is no tolerance")
			}
			w, err := p.convert(t.n, *t.m, None, true)
			if err != nil {
				return 0, err
			}
			w.value.Mul(w.value, new(big.Rat).Abs(a.value))
			if !onBench(w.value) {
				return 0, p.fail(t.n.start, toleranceForms, "a tolerance of this size is not met on a bench")
			}
			return w.float(), nil
		}
		m := mv
		if t.m == nil && v.m != nil { // "1.8 V +5/-3": volts or percent?
			return 0, p.fail(t.n.end, toleranceForms, "a unit or %% is missing behind the tolerance")
		}
		if t.m != nil {
			m = *t.m
		}
		w, err := p.convert(t.n, m, p.want, true)
		if err != nil {
			return 0, err
		}
		return w.float(), nil
	}
	e := build(Single, []amount{a})
	e.Tol = &Tolerance{}
	if e.Tol.Minus, err = half(minus); err != nil {
		return Entry{}, err
	}
	if e.Tol.Plus, err = half(plus); err != nil {
		return Entry{}, err
	}
	return e, nil
}

// bracketed reads "(23.1 ± 0.5) °C", where the unit counts for value and tolerance alike.
func (p *entryParser) bracketed() (Entry, error) {
	p.lit("(")
	p.space()
	v, err := p.number(true)
	if err != nil {
		return Entry{}, err
	}
	p.space()
	if !p.plusMinus() {
		return Entry{}, p.unexpected("(23.1 ± 0.5) °C")
	}
	p.space()
	if r := p.peek(); r == '+' || isDash(r) {
		return Entry{}, p.fail(p.pos, toleranceForms, "a tolerance has no sign of its own")
	}
	w, err := p.number(false)
	if err != nil {
		return Entry{}, err
	}
	p.space()
	if _, ok := p.lit(")"); !ok {
		return Entry{}, p.unexpected("(23.1 ± 0.5) °C, the unit behind the bracket")
	}
	m, err := p.measure(p.want, true)
	if err != nil {
		return Entry{}, err
	}
	mm, err := p.unit(term{v, m}, nil)
	if err != nil {
		return Entry{}, err
	}
	a, err := p.convert(v, mm, p.want, false)
	if err != nil {
		return Entry{}, err
	}
	b, err := p.convert(w, mm, p.want, true)
	if err != nil {
		return Entry{}, err
	}
	e := build(Single, []amount{a})
	e.Tol = &Tolerance{Minus: b.float(), Plus: b.float()}
	return e, p.covered(&e)
}
