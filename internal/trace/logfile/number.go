package logfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/bits"
	"strconv"
)

// pow10 are the powers of ten that float64 holds exactly; read only.
var pow10 = [32]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// shortNumber reads a plain decimal number of at most seven digits that begins at b[i] and is followed
// within eight bytes by something else, times 10^power; end is −1 where it is none. It works on eight
// bytes at once: one mask tells which are digits, the decimal mark is squeezed out, and three
// multiplications add up the digits (Lemire 2018, after an idea of Langdale; from memory).
func shortNumber(b []byte, i int, mark byte, power int) (x float64, end int) {
	if i+10 > len(b) {
		return 0, -1
	}
	neg := b[i] == '-'
	if neg {
		i++
	}
	w := binary.LittleEndian.Uint64(b[i:])
	const zeros = 0x3030303030303030
	t := w ^ zeros
	// The top bit of each byte that is no digit: above 9, or with its own top bit set.
	stops := ((t + 0x7676767676767676) | t) & 0x8080808080808080
	point := bits.TrailingZeros64(stops) &^ 7
	n := point
	if stops == 0 {
		return 0, -1
	}
	if byte(w>>point) == mark {
		rest := stops & (stops - 1)
		if rest == 0 {
			return 0, -1
		}
		stop := bits.TrailingZeros64(rest) &^ 7
		low := uint64(1)<<point - 1
		w = w&low | w>>8&^low
		n = stop - 8
		power -= (n - point) >> 3
		end = i + stop>>3
	} else {
		end = i + n>>3
	}
	if n == 0 || power > 0 || power < -22 || b[end]|0x20 == 'e' {
		return 0, -1
	}
	w = w<<(64-n) | zeros>>n // as many leading zeros as make eight digits
	w -= zeros
	w = w*10 + w>>8
	w = ((w&0x000000FF000000FF)*(100+1000000<<32) + (w>>16&0x000000FF000000FF)*(1+10000<<32)) >> 32
	x = float64(uint32(w)) / pow10[-power]
	if neg {
		x = -x
	}
	return x, end
}

// fastNumber reads a plain decimal number, multiplied by 10^power, that begins at b[i], and returns
// where it ends; end is −1 where this quick way cannot give the nearest float64 (Clinger 1990: a
// mantissa below 2^53 and a power of ten within ±22 make one exactly rounded operation). b must hold
// a byte that is no part of a number behind it.
func fastNumber(b []byte, i int, mark byte, power int) (x float64, end int) {
	c := b[i]
	neg := c == '-'
	if neg || c == '+' {
		i++
	}
	var m uint64
	from := i
	d := b[i] - '0'
	for d <= 9 {
		m = m*10 + uint64(d)
		i++
		d = b[i] - '0'
	}
	digits := i - from
	if b[i] == mark {
		i++
		point := i
		d = b[i] - '0'
		for d <= 9 {
			m = m*10 + uint64(d)
			i++
			d = b[i] - '0'
		}
		digits += i - point
		power -= i - point
	}
	if digits == 0 || digits > 18 {
		return 0, -1
	}
	if b[i]|0x20 == 'e' {
		i++
		eneg := b[i] == '-'
		if eneg || b[i] == '+' {
			i++
		}
		e, at := 0, i
		for d = b[i] - '0'; d <= 9 && i < at+4; d = b[i] - '0' {
			e = e*10 + int(d)
			i++
		}
		if i == at || i == at+4 {
			return 0, -1
		}
		if eneg {
			e = -e
		}
		power += e
	}
	if m >= 1<<53 {
		return 0, -1
	}
	x = float64(m)
	switch {
	case power == 0:
	case power < 0 && power >= -22:
		x /= pow10[-power]
	case power > 0 && power <= 22:
		x *= pow10[power]
	default:
		return 0, -1
	}
	if neg {
		x = -x
	}
	return x, i
}

// A numeral is a number in one plain form, and what stood behind it.
type numeral struct {
	text     []byte // sign, digits, '.', exponent: what strconv reads
	decimals int    // digits behind the decimal mark
	rest     []byte // behind the number, blanks trimmed
	grouped  bool   // thousands marks were dropped
	marked   bool   // a decimal mark was there
}

// value returns the number times 10^power, rounded once.
func (n numeral) value(power int) (float64, bool) {
	text := n.text
	if power != 0 {
		mantissa, e := text, 0
		if i := bytes.IndexByte(text, 'e'); i >= 0 {
			mantissa = text[:i]
			var err error
			if e, err = strconv.Atoi(string(text[i+1:])); err != nil || e > 10000 || e < -10000 {
				return 0, false
			}
		}
		text = strconv.AppendInt(append(append([]byte{}, mantissa...), 'e'), int64(e+power), 10)
	}
	x, err := strconv.ParseFloat(string(text), 64)
	return x, err == nil || math.IsInf(x, 0)
}

// readNumeral reads a number in any of the forms of a log: signs + − and U+2212, apart from the
// digits or behind them, (12.3) for a negative one, thousands in threes behind the group mark,
// exponents e, E, D and *10^. It reports false where the text does not begin with one.
func readNumeral(cell []byte, mark byte, group string) (numeral, bool) {
	n := numeral{text: make([]byte, 0, len(cell)+4)}
	p := scanner{s: cell}
	p.space()
	neg, paren := false, false
	switch {
	case p.take('('):
		neg, paren = true, true
	case p.take('+'):
	case p.take('-'):
		neg = true
	case bytes.HasPrefix(p.s[p.i:], []byte("−")):
		p.i += len("−")
		neg = true
	}
	p.space()
	if neg {
		n.text = append(n.text, '-')
	}
	digits := 0
	for p.i < len(p.s) {
		if p.s[p.i]-'0' <= 9 {
			n.text = append(n.text, p.s[p.i])
			p.i++
			digits++
			continue
		}
		if group != "" && digits > 0 && digits <= 3 && !n.grouped || n.grouped {
			if k := groupAhead(p.s[p.i:], group); k > 0 {
				n.text = append(n.text, p.s[p.i+k:p.i+k+3]...)
				p.i += k + 3
				digits += 3
				n.grouped = true
				continue
			}
		}
		break
	}
	if p.peek() == mark && p.i < len(p.s) {
		p.i++
		n.marked = true
		n.text = append(n.text, '.')
		for p.i < len(p.s) && p.s[p.i]-'0' <= 9 {
			n.text = append(n.text, p.s[p.i])
			p.i++
			digits++
			n.decimals++
		}
	}
	if digits == 0 {
		return n, false
	}
	p.exponent(&n)
	if paren && !p.take(')') {
		return n, false
	}
	if !paren && !neg && p.peek() == '-' && p.i == len(p.s)-1 { // 12.3-
		p.i++
		n.text = append([]byte{'-'}, n.text...)
	}
	p.space()
	n.rest = bytes.TrimSpace(p.s[p.i:])
	return n, true
}

// groupAhead returns the length of the group mark when it and exactly three digits follow.
func groupAhead(s []byte, group string) int {
	k := len(group)
	if len(s) < k+3 || string(s[:k]) != group {
		return 0
	}
	for _, c := range s[k : k+3] {
		if c-'0' > 9 {
			return 0
		}
	}
	if len(s) > k+3 && s[k+3]-'0' <= 9 {
		return 0
	}
	return k
}

// exponent appends e±nn to the numeral where one follows.
func (p *scanner) exponent(n *numeral) {
	at := p.i
	switch c := p.peek(); {
	case c == 'e' || c == 'E' || c == 'd' || c == 'D':
		p.i++
	case bytes.HasPrefix(p.s[p.i:], []byte("*10^")):
		p.i += len("*10^")
	default:
		return
	}
	sign := p.take('-')
	if !sign {
		p.take('+')
	}
	e, digits := p.number()
	if digits == 0 || digits > 4 {
		p.i = at
		return
	}
	n.text = append(n.text, 'e')
	if sign {
		n.text = append(n.text, '-')
	}
	n.text = strconv.AppendInt(n.text, int64(e), 10)
}
