package quantity

import "math/big"

const ratioForms = "1 mV per 10 mA, 100 mV/A, 5 mA per hour, 0.1 %/K, 75 ppm/K"

// ParseRatio reads a quotient and returns it in SI of num per SI of den: "1 mV per 10 mA" is
// 0.1 V/A. Where the two units are written the other way round, the reciprocal is returned, which
// says the same: "10 A/V". Temperatures are differences. The error is an *Error.
func ParseRatio(text string, num, den Unit) (float64, error) {
	s, err := newScanner(text, maxLine, ratioForms)
	if err != nil {
		return 0, err
	}
	top, topUnit, err := s.ratioPart(num, den, true)
	if err != nil {
		return 0, err
	}
	s.space()
	if _, ok := s.lit("/"); !ok {
		if _, ok := s.word("per"); !ok {
			return 0, s.fail(s.pos, ratioForms, "per or / is missing")
		}
	}
	s.space()
	bottom, bottomUnit, err := s.ratioPart(den, num, false)
	if err != nil {
		return 0, err
	}
	s.space()
	if !s.done() {
		return 0, s.unexpected(ratioForms)
	}
	if _, ok := factor(topUnit.unit, num); !ok && num != None && den != None {
		_, a := factor(topUnit.unit, den)
		_, b := factor(bottomUnit.unit, num)
		if a && b {
			return s.quotient(bottom, bottomUnit, num, top, topUnit, den)
		}
	}
	return s.quotient(top, topUnit, num, bottom, bottomUnit, den)
}

// ratioPart reads one side, a number and a unit; below the line the number may be left out.
func (s *scanner) ratioPart(want, other Unit, above bool) (number, measure, error) {
	n := number{digits: "1", start: s.pos, end: s.pos}
	if above || s.startsNumber() {
		var err error
		if n, err = s.number(above); err != nil {
			return n, measure{}, err
		}
	}
	m, err := s.measure(want, false)
	switch {
	case err != nil:
		return n, measure{}, err
	case m != nil:
		return n, *m, nil
	case want == None && above:
		return n, measure{scale: power10(0)}, nil
	}
	return n, measure{}, s.fail(s.pos, ratioForms, "a unit is missing; %s per %s is wanted here", withArticle(dimensionOf(want).name), dimensionOf(other).name)
}

// quotient divides exactly and rounds once.
func (s *scanner) quotient(a number, am measure, num Unit, b number, bm measure, den Unit) (float64, error) {
	x, err := s.convert(a, am, num, true)
	if err != nil {
		return 0, err
	}
	y, err := s.convert(b, bm, den, true)
	if err != nil {
		return 0, err
	}
	if y.value.Sign() == 0 {
		return 0, s.fail(b.start, ratioForms, "a quotient by zero")
	}
	q := amount{value: new(big.Rat).Quo(x.value, y.value)}
	if !onBench(q.value) {
		return 0, s.fail(a.start, ratioForms, "a quotient of this size is not met on a bench")
	}
	return q.float(), nil
}

// Rate is a quotient in SI of Num per SI of Den, to be printed.
type Rate struct {
	Value    float64
	Num, Den Unit
}

// String writes the quotient so that ParseRatio reads the same value from it, with the fewest
// digits: drifts per hour where that is shorter, small ratios in ppm.
func (r Rate) String() string {
	if text, odd := notFinite(r.Value); odd {
		return text
	}
	num, den := difference(r.Num), difference(r.Den)
	one := big.NewRat(1, 1)
	best := significant(r.Value, 0)
	symbol := dimensionOf(den).symbol
	for _, w := range odd(den) {
		per := writing{scale: new(big.Rat).Quo(one, w.scale)}
		if d := per.width(r.Value); len(d.digits) < len(best.digits) {
			best, symbol = d, w.symbol
		}
	}
	if num == None {
		switch {
		case best.isZero() || best.power() >= -4:
			return best.shift(2).String() + " %/" + symbol
		default:
			return best.shift(6).String() + " ppm/" + symbol
		}
	}
	return prefixFor(num, best).label(best) + "/" + symbol
}
