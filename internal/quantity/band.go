package quantity

import (
	"math/big"
	"unicode/utf8"
)

// rangeMark takes what stands between the ends of a band. A dash means "to" unless it has space
// before it and none behind, when it is the sign of the next number.
func (p *entryParser) rangeMark(spaced bool) bool {
	if _, ok := p.lit("...", "..", "…"); ok {
		return true
	}
	if _, ok := p.word("to"); ok {
		return true
	}
	if r := p.peek(); isDash(r) {
		t := *p.scanner
		t.pos += utf8.RuneLen(r)
		if t.space() || !spaced {
			p.pos = t.pos
			return true
		}
	}
	return false
}

// band reads the other end and puts the lower one first.
func (p *entryParser) band(first term) (Entry, error) {
	p.space()
	second, err := p.term(true)
	if err != nil {
		return Entry{}, err
	}
	spaced := p.space()
	at := p.pos
	if p.plusMinus() {
		return Entry{}, p.fail(at, entryForms, "a tolerance belongs to one value, not to a band")
	}
	if p.rangeMark(spaced) || p.startsNumber() {
		return Entry{}, p.fail(at, entryForms, "a band has two ends, not more")
	}
	a, err := p.amounts([]term{first, second})
	if err != nil {
		return Entry{}, err
	}
	if a[0].value.Cmp(a[1].value) > 0 {
		a[0], a[1] = a[1], a[0]
	}
	return build(Band, a), nil
}

// upTo reads "<25 mA", a band from zero.
func (p *entryParser) upTo() (Entry, bool, error) {
	at := p.pos
	if _, ok := p.lit(">", "≥"); ok {
		return Entry{}, false, p.fail(at, entryForms, "a lower limit alone is no reading")
	}
	_, ok := p.lit("<=", "<", "≤", "⩽")
	if !ok {
		if _, ok = p.word("up to", "at most", "less than", "below", "under", "maximum", "max.", "max"); !ok {
			return Entry{}, false, nil
		}
	}
	if p.want == Celsius {
		return Entry{}, false, p.fail(at, "a band with both ends, 20..40 °C", "a temperature has no band from zero")
	}
	p.space()
	t, err := p.term(true)
	if err != nil {
		return Entry{}, false, err
	}
	a, err := p.amounts([]term{t})
	if err != nil {
		return Entry{}, false, err
	}
	if a[0].value.Sign() <= 0 {
		return Entry{}, false, p.fail(t.n.start, "<25 mA: from zero up to a value above zero", "the upper end of a band from zero is not above zero")
	}
	return build(Band, []amount{{new(big.Rat), a[0].step}, a[0]}), true, nil
}
