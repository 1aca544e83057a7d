package quantity

import (
	"math/big"
)

const entryForms = "9.6 mV; 509 511 512 mV; 10..50 mA; 1.8 V ±2 %; <25 mA"

// term is one number of an entry with the unit written behind it, if any.
type term struct {
	n number
	m *measure
}

// entryParser reads one entry.
type entryParser struct {
	*scanner
	want Unit
	bare *measure // nil where a unit has to be written
	pct  bool     // bare numbers are a percentage or the like
}

// Parse reads an entry in the grammar of the package comment and returns it in SI of the wanted
// unit. bare is the unit that numbers without one have, as in "mV"; with "" a unit must be
// written, except that a ratio without one is a plain number. The error is an *Error.
func Parse(text string, want Unit, bare string) (Entry, error) {
	if e, ok := parsePlain(text, want); ok {
		return e, nil
	}
	return parseGeneral(text, want, bare)
}

func parseGeneral(text string, want Unit, bare string) (Entry, error) {
	s, err := newScanner(text, maxEntry, entryForms)
	if err != nil {
		return Entry{}, err
	}
	m, err := bareMeasure(bare, want)
	if err != nil {
		return Entry{}, err
	}
	p := &entryParser{scanner: s, want: want, bare: m, pct: want == None && m.scale.Cmp(big.NewRat(1, 1)) != 0}
	e, err := p.entry()
	if err != nil {
		return Entry{}, err
	}
	p.space()
	if !p.done() {
		return Entry{}, p.unexpected(entryForms)
	}
	e.Unit, e.Text = want, text
	return e, nil
}

// Value reads a single value without tolerance, in SI.
func Value(text string, want Unit, bare string) (float64, error) {
	e, err := Parse(text, want, bare)
	switch {
	case err != nil:
		return 0, err
	case e.Kind != Single:
		return 0, &Error{Text: text, Msg: "one value is wanted here, not " + e.Kind.String(), Accept: want.Accept()}
	case e.Tol != nil:
		return 0, &Error{Text: text, Msg: "a value without tolerance is wanted here", Accept: want.Accept()}
	}
	return e.Values[0], nil
}

// ParseBand reads a band, lo..hi or <hi, in SI with lo <= hi.
func ParseBand(text string, want Unit, bare string) (lo, hi float64, err error) {
	e, err := Parse(text, want, bare)
	if err != nil {
		return 0, 0, err
	}
	if e.Kind != Band {
		return 0, 0, &Error{Text: text, Msg: "a band is wanted here", Accept: "10..50 with a unit"}
	}
	return e.Values[0], e.Values[1], nil
}

// entry reads any of the forms.
func (p *entryParser) entry() (Entry, error) {
	if e, ok, err := p.upTo(); ok || err != nil {
		return e, err
	}
	if p.peek() == '(' {
		return p.bracketed()
	}
	at := p.pos
	if p.plusMinus() {
		return Entry{}, p.fail(at, entryForms, "the value before ± is missing")
	}
	terms := []term{}
	for {
		t, err := p.term(len(terms) == 0)
		if err != nil {
			return Entry{}, err
		}
		terms = append(terms, t)
		if len(terms) > maxRepeats {
			return Entry{}, p.fail(t.n.start, entryForms, "more than %d values", maxRepeats)
		}
		at := p.pos
		spaced := p.space()
		if len(terms) == 1 {
			if e, ok, err := p.withTolerance(t); ok || err != nil {
				return e, err
			}
		}
		if p.done() {
			break
		}
		if p.rangeMark(spaced) {
			if len(terms) > 1 {
				return Entry{}, p.fail(at, entryForms, "a band has two ends, not more")
			}
			return p.band(t)
		}
		if _, ok := p.lit(",", ";"); ok {
			spaced = true
			p.space()
		}
		if !spaced || !p.startsNumber() && p.noReading() == nil {
			return Entry{}, p.odd(len(terms))
		}
	}
	if len(terms) == 1 {
		return p.single(terms[0])
	}
	return p.repeats(terms)
}

// odd is the error for what follows a value and is none of what may follow.
func (p *entryParser) odd(values int) error {
	if at := p.pos; p.plusMinus() {
		return p.fail(at, entryForms, "a tolerance belongs to one value, not to several")
	}
	if p.peek() == '(' && values == 1 {
		return p.fail(p.pos, "1.004 ± 0.003 (k=2)", "a bracket without ± before it")
	}
	return p.unexpected(entryForms)
}

// term reads a number and the unit behind it.
func (p *entryParser) term(first bool) (term, error) {
	n, err := p.number(first)
	if err != nil {
		return term{}, err
	}
	m, err := p.measure(p.want, true)
	return term{n, m}, err
}

// unit returns the unit of a term: its own, or else the given one, or else that of bare numbers.
func (p *entryParser) unit(t term, shared *measure) (measure, error) {
	switch {
	case t.m != nil:
		return *t.m, nil
	case shared != nil:
		return *shared, nil
	case p.bare != nil:
		return *p.bare, nil
	}
	return measure{}, p.fail(t.n.end, p.want.Accept(), "a unit is missing; %s is wanted here", withArticle(p.want.String()))
}

// amounts converts terms that may share one unit, written behind the last or the first of them.
func (p *entryParser) amounts(terms []term) ([]amount, error) {
	var shared *measure
	written := 0
	for _, t := range terms {
		if t.m != nil {
			shared = t.m
			written++
		}
	}
	if written != len(terms) && (written > 1 || written == 1 && terms[0].m == nil && terms[len(terms)-1].m == nil) {
		for _, t := range terms {
			if t.m == nil {
				return nil, p.fail(t.n.start, "one unit behind the last value, or one behind every value", "some values have a unit and some have none")
			}
		}
	}
	out := make([]amount, len(terms))
	for i, t := range terms {
		m, err := p.unit(t, shared)
		if err != nil {
			return nil, err
		}
		if out[i], err = p.convert(t.n, m, p.want, false); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// build makes an entry of amounts.
func build(kind Kind, amounts []amount) Entry {
	e := Entry{Kind: kind, Values: make([]float64, len(amounts))}
	step := amounts[0].step
	for i, a := range amounts {
		e.Values[i] = a.float()
		if a.step.Cmp(step) > 0 {
			step = a.step
		}
	}
	e.Step, _ = step.Float64()
	return e
}

func (p *entryParser) single(t term) (Entry, error) {
	a, err := p.amounts([]term{t})
	if err != nil {
		return Entry{}, err
	}
	return build(Single, a), nil
}
