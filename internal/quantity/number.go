package quantity

import (
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"
)

// number is a decimal number exactly as written: digits · 10^place.
type number struct {
	neg        bool
	digits     string // without leading zeros; "" is zero
	place      int    // power of ten of the last digit
	start, end int    // bytes of the text
	// lead is the count of integer digits and short whether the number is only those:
	// what is needed to see that "1 234.5" may be meant as one number.
	lead  int
	short bool
	zero  bool // the integer part starts with a needless zero, as in 001
}

const (
	maxDigits   = 40 // significant digits of a number
	maxExponent = 99 // of e notation
	maxPlace    = 60 // decimal places, in SI
	maxPower    = 30 // power of ten of the value, in SI
)

const numberForms = "511, 0.511, 0,511 (decimal comma), 1.2e-3"

// isNarrow reports whether r separates thousands: thin and narrow no-break space, apostrophes.
// A plain or no-break space never does, because it separates repeats.
func isNarrow(r rune) bool {
	switch r {
	case '\u2009', '\u202f', '\'', '’':
		return true
	}
	return false
}

// startsNumber reports whether a number, signed or not, starts here.
func (s *scanner) startsNumber() bool {
	t := *s
	t.sign()
	return isDigit(t.peek()) || t.peek() == '.' && len(t.rest()) > 1 && isDigit(rune(t.rest()[1]))
}

// sign takes a plus or minus and reports a minus.
func (s *scanner) sign() bool {
	r := s.peek()
	if r == '+' || isDash(r) {
		s.pos += utf8.RuneLen(r)
	}
	return isDash(r)
}

// number reads a number. first allows space after the sign, as nothing can stand before it.
func (s *scanner) number(first bool) (number, error) {
	if err := s.noReading(); err != nil {
		return number{}, err
	}
	n := number{start: s.pos}
	n.neg = s.sign()
	if first && s.pos > n.start {
		s.space()
	}
	if !isDigit(s.peek()) && !s.startsNumber() {
		if s.peek() == ',' {
			return n, s.fail(s.pos, numberForms, "a number does not start with a comma")
		}
		return n, s.fail(s.pos, numberForms, "a number is wanted here")
	}
	whole, err := s.wholeDigits()
	if err != nil {
		return n, err
	}
	n.lead, n.zero = len(whole), len(whole) > 1 && whole[0] == '0'
	fraction, marked, err := s.fractionDigits()
	if err != nil {
		return n, err
	}
	exponent, err := s.exponent()
	if err != nil {
		return n, err
	}
	n.short = !marked && exponent == 0
	n.digits = strings.TrimLeft(whole+fraction, "0")
	n.place = exponent - len(fraction)
	n.end = s.pos
	if len(n.digits) > maxDigits {
		return n, s.fail(n.start, numberForms, "a number of more than %d digits", maxDigits)
	}
	return n, nil
}

// wholeDigits reads the digits before the decimal mark, with thousands in groups of three.
func (s *scanner) wholeDigits() (string, error) {
	digits := s.digits()
	groups := 0
	for digits != "" && isNarrow(s.peek()) {
		t := *s
		t.pos += utf8.RuneLen(t.peek())
		if !isDigit(t.peek()) {
			break
		}
		if group := t.digits(); len(group) != 3 || groups == 0 && len(digits) > 3 {
			return "", s.fail(s.pos, "1234.5, or thousands in groups of three", "thousands are not in groups of three")
		} else {
			digits += group
		}
		groups++
		*s = t
	}
	return digits, nil
}

// fractionDigits reads a decimal mark and what follows it. A point that is followed by another
// point belongs to a band; a comma counts only with a digit behind it.
func (s *scanner) fractionDigits() (digits string, marked bool, err error) {
	at := s.pos
	mark := s.peek()
	rest := s.rest()
	switch {
	case mark == '.' && !strings.HasPrefix(rest, ".."), mark == ',' && len(rest) > 1 && isDigit(rune(rest[1])):
		s.pos++
	default:
		return "", false, nil
	}
	digits = s.digits()
	rest = s.rest()
	if len(rest) > 1 && (rest[0] == '.' || rest[0] == ',') && isDigit(rune(rest[1])) {
		switch {
		case rune(rest[0]) != mark:
			return "", true, s.fail(at, "1234.5 or 1234,5, thousands without a comma or point", "a comma and a point in one number")
		case mark == ',':
			return "", true, s.fail(at, "509, 511, 512 with a space after each comma", "more than one comma in a number")
		default:
			return "", true, s.fail(at, numberForms, "more than one point in a number")
		}
	}
	if r := s.peek(); isNarrow(r) && r != '\'' && r != '’' {
		t := *s
		t.pos += utf8.RuneLen(r)
		if isDigit(t.peek()) {
			return "", true, s.fail(s.pos, "decimals without a space between them; repeats with a plain space or comma", "a thin space behind the decimal mark")
		}
	}
	if digits == "" {
		return "", true, nil // "5." says no more than "5"
	}
	if s.mark != 0 && s.mark != mark {
		return "", true, s.fail(at, "one decimal mark throughout, point or comma", "both comma and point are used as decimal mark")
	}
	s.mark = mark
	return digits, true, nil
}

// exponent reads e-3 where digits follow the e.
func (s *scanner) exponent() (int, error) {
	t := *s
	if _, ok := t.lit("e", "E"); !ok {
		return 0, nil
	}
	neg := t.sign()
	digits := t.digits()
	if digits == "" {
		return 0, nil
	}
	e, err := strconv.Atoi(digits)
	if err != nil || e > maxExponent {
		return 0, s.fail(s.pos, numberForms, "the exponent is beyond ±%d", maxExponent)
	}
	*s = t
	if neg {
		e = -e
	}
	return e, nil
}

func (s *scanner) digits() string {
	from := s.pos
	for !s.done() && isDigit(rune(s.text[s.pos])) {
		s.pos++
	}
	return s.text[from:s.pos]
}

// noReading refuses what a display shows when it has no reading.
func (s *scanner) noReading() error {
	const accept = "a reading from a range that holds it; leave the field empty where there is none"
	if strings.HasPrefix(s.rest(), "--") || strings.HasPrefix(s.rest(), "––") || strings.HasPrefix(s.rest(), "——") {
		return s.fail(s.pos, accept, "dashes are no reading")
	}
	t := *s
	t.sign()
	t.space()
	if isDigit(t.peek()) && !strings.ContainsAny(t.field(), "lL") {
		return nil // the common case: only 0L and the like start with a digit
	}
	if _, ok := t.word("ol", "o.l", ".ol", "0l", "0.l", ".0l", "o/l", "ovl", "ofl", "ovld", "ovfl", "over", "overload", "over load", "overflow", "over range", "overrange"); ok {
		return s.fail(s.pos, accept, "the display shows overload, not a reading")
	}
	if _, ok := t.word("nan", "inf", "infinity", "infinite", "∞"); ok {
		return s.fail(s.pos, numberForms, "not a finite number")
	}
	return nil
}

// rat returns the exact value.
func (n number) rat() *big.Rat {
	if n.digits == "" {
		return new(big.Rat)
	}
	i, _ := new(big.Int).SetString(n.digits, 10)
	if n.neg {
		i.Neg(i)
	}
	return new(big.Rat).Mul(new(big.Rat).SetInt(i), power10(n.place))
}

// power returns the power of ten of the leading digit; zero has the power of its last digit.
func (n number) power() int { return n.place + max(len(n.digits), 1) - 1 }

// power10 returns 10^e exactly.
func power10(e int) *big.Rat {
	p := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(e, -e))), nil)
	if e < 0 {
		return new(big.Rat).SetFrac(big.NewInt(1), p)
	}
	return new(big.Rat).SetInt(p)
}
