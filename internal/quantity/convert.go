package quantity

import (
	"math/big"
	"strings"
)

// amount is a number in SI.
type amount struct {
	value *big.Rat
	step  *big.Rat // place value of the last digit written
}

func (a amount) float() float64 { f, _ := a.value.Float64(); return f }

// factor returns what a measure's SI value is multiplied by to be in the wanted unit.
func factor(have, want Unit) (*big.Rat, bool) {
	switch {
	case have == want,
		have == Kelvin && want == Celsius, have == Celsius && want == Kelvin,
		have == Ohm && want == VoltPerAmpere, have == VoltPerAmpere && want == Ohm:
		return big.NewRat(1, 1), true
	case have == Bit && want == Byte, have == BitPerSecond && want == BytePerSecond:
		return big.NewRat(1, 8), true
	case have == Byte && want == Bit, have == BytePerSecond && want == BitPerSecond:
		return big.NewRat(8, 1), true
	}
	return nil, false
}

// convert brings a number with its unit to SI of the wanted unit. A width (a tolerance, a term of
// a specification) of a temperature is a difference and is not counted from absolute zero.
func (s *scanner) convert(n number, m measure, want Unit, width bool) (amount, error) {
	f, ok := factor(m.unit, want)
	if !ok {
		text := strings.TrimSpace(s.text[n.start:n.end])
		if m.end > m.start {
			text = clip(text, 24) + " " + s.text[m.start:m.end]
		}
		return amount{}, s.fail(n.start, want.Accept(), "%s is %s; %s is wanted here", text, withArticle(m.unit.String()), withArticle(want.String()))
	}
	tooFar := func() error {
		return s.fail(n.start, numberForms, "a number of this size or fineness is not met on a bench")
	}
	if n.digits != "" && n.power() > 2*maxPower || n.place < -2*maxPlace || n.place > 2*maxPlace {
		return amount{}, tooFar()
	}
	scale := new(big.Rat).Mul(m.scale, f)
	a := amount{value: new(big.Rat).Mul(n.rat(), scale), step: new(big.Rat).Mul(power10(n.place), scale)}
	if !onBench(a.value) {
		return amount{}, tooFar()
	}
	if a.step.Cmp(power10(-maxPlace)) < 0 || a.step.Cmp(power10(maxPower)) > 0 {
		return amount{}, tooFar()
	}
	if m.kelvin && want == Celsius && !width {
		a.value.Add(a.value, absoluteZero())
	}
	return a, nil
}

// withArticle returns "a voltage", "an area".
func withArticle(name string) string {
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// bareMeasure reads the unit that bare numbers have. No unit for a ratio means a plain number;
// for anything else nil: a unit has to be written.
func bareMeasure(bare string, want Unit) (*measure, error) {
	if strings.TrimSpace(bare) == "" {
		if want == None {
			return &measure{unit: None, scale: big.NewRat(1, 1)}, nil
		}
		return nil, nil
	}
	s := &scanner{text: bare}
	m, err := s.measure(want, true)
	if err != nil {
		return nil, err
	}
	s.space()
	if m == nil || !s.done() {
		return nil, s.fail(s.pos, want.Accept(), "the unit for bare numbers is no unit")
	}
	if _, ok := factor(m.unit, want); !ok {
		return nil, s.fail(0, want.Accept(), "the unit for bare numbers is that of %s; %s is wanted here", withArticle(m.unit.String()), withArticle(want.String()))
	}
	m.start, m.end = 0, 0 // it has no place in the text
	return m, nil
}

// onBench reports whether a magnitude is zero or one that can be met.
func onBench(x *big.Rat) bool {
	abs := new(big.Rat).Abs(x)
	return abs.Sign() == 0 || abs.Cmp(power10(maxPower)) <= 0 && abs.Cmp(power10(-maxPower)) >= 0
}
