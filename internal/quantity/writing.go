package quantity

import (
	"math"
	"math/big"
)

// writing is a way to write a unit that a stored value came from or may go out in: the SI unit
// with its prefixes, or a unit that is no power of ten of it, as h, in, MiB or mA/h.
type writing struct {
	symbol   string
	scale    *big.Rat // SI units in one of it
	prefixed bool
	absolute bool // kelvins from absolute zero, for a temperature
}

// absoluteZero is 0 K in °C.
func absoluteZero() *big.Rat { return big.NewRat(-27315, 100) }

// writings returns the ways to write a unit, the SI unit first.
func writings(u Unit) []writing {
	d := dimensionOf(u)
	one := big.NewRat(1, 1)
	out := []writing{{symbol: d.symbol, scale: one, prefixed: true}}
	if !d.compound {
		return append(out, odd(u)...)
	}
	nums := append([]writing{{symbol: dimensionOf(d.num).symbol, scale: one, prefixed: true}}, odd(d.num)...)
	dens := append([]writing{{symbol: dimensionOf(d.den).symbol, scale: one, prefixed: true}}, odd(d.den)...)
	for i, n := range nums {
		for j, m := range dens {
			if i > 0 || j > 0 {
				out = append(out, writing{symbol: n.symbol + "/" + m.symbol, scale: new(big.Rat).Quo(n.scale, m.scale), prefixed: n.prefixed})
			}
		}
	}
	return out
}

// odd returns the ways to write a unit that are no power of ten of SI.
func odd(u Unit) []writing {
	var out []writing
	switch u {
	case Celsius:
		return []writing{{symbol: "K", scale: big.NewRat(1, 1), absolute: true}}
	case Second, Metre:
		for _, a := range atoms {
			if a.unit == u && !a.prefixed {
				out = append(out, writing{symbol: a.symbols[0], scale: a.scale(0)})
			}
		}
	case Byte, Bit:
		other, f := Bit, big.NewRat(1, 8)
		if u == Bit {
			other, f = Byte, big.NewRat(8, 1)
		}
		out = append(out, writing{symbol: dimensionOf(other).symbol, scale: f, prefixed: true})
		for i, l := range binary {
			k := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), uint(10*(i+1))))
			out = append(out, writing{symbol: l + dimensionOf(u).symbol, scale: k},
				writing{symbol: l + dimensionOf(other).symbol, scale: new(big.Rat).Mul(k, f)})
		}
	}
	return out
}

// write returns the shortest decimal that reads back as the value x in this writing.
func (w writing) write(x float64) decimal {
	if w.absolute {
		return w.search(x, absoluteZero())
	}
	return w.width(x)
}

// width does the same for a width, which is not counted from absolute zero.
func (w writing) width(x float64) decimal {
	if w.scale.Cmp(big.NewRat(1, 1)) == 0 || x == 0 {
		return significant(x, 0)
	}
	return w.search(x, new(big.Rat))
}

// search tries one digit after the other until q·scale + zero is x.
func (w writing) search(x float64, zero *big.Rat) decimal {
	q := new(big.Rat).SetFloat64(x)
	q.Quo(q.Sub(q, zero), w.scale)
	neg := q.Sign() < 0
	q.Abs(q)
	about, _ := q.Float64()
	power := significant(about, 0).power()
	if zero.Sign() != 0 {
		power = max(power, 3) // near absolute zero the coarse places are the likely ones
	}
	for digits := 1; ; digits++ {
		place := power - digits + 1
		d := decimal{neg: neg, digits: new(big.Rat).Mul(q, power10(-place)).FloatString(0), exp: place}.clean()
		// Forty digits always read back; the bound keeps the loop plainly finite.
		if d.read(w.scale, zero) == x || digits == maxDigits {
			return d.trimmed()
		}
	}
}

// read returns the value of the decimal in SI.
func (d decimal) read(scale, zero *big.Rat) float64 {
	i, _ := new(big.Int).SetString(d.sign()+d.digits, 10)
	r := new(big.Rat).SetInt(i)
	r.Mul(r, power10(d.exp)).Mul(r, scale)
	f, _ := r.Add(r, zero).Float64()
	return f
}

// place returns the power of ten that a step is in this writing, if it is one.
func (w writing) place(step float64) (int, bool) {
	if !(step > 0) || math.IsInf(step, 0) {
		return 0, false
	}
	d := w.width(step)
	return d.exp, d.digits == "1"
}

// choose returns the writing in which a step is a power of ten and at least one of the values is
// a multiple of it, with that power. Where no writing fits, as for an entry made by a program, it
// returns the SI unit and ok false.
func choose(u Unit, step float64, values []float64) (w writing, place int, ok bool) {
	all := writings(u)
	for _, w := range all {
		if place, ok := w.place(step); ok {
			for _, v := range values {
				if d := w.write(v); d.isZero() || d.exp >= place {
					return w, place, true
				}
			}
		}
	}
	return all[0], 0, false
}

// symbolFor returns the writing's unit with the prefix that suits the largest of the decimals and
// its power of ten. The prefix is raised, where there is one, until the place is not above it.
func (w writing) symbolFor(u Unit, place int, ds ...decimal) (string, int) {
	if !w.prefixed {
		return w.symbol, 0
	}
	largest := decimal{digits: "0"}
	for _, d := range ds {
		if !d.isZero() && (largest.isZero() || d.power() > largest.power()) {
			largest = d
		}
	}
	exp := prefixFor(u, largest).exp
	for _, e := range dimensionOf(u).prefixes {
		if place > exp && e > exp {
			exp = e
		}
	}
	for _, e := range dimensionOf(u).prefixes { // zero alone has no size: its place speaks
		if largest.isZero() && e >= place && e < exp {
			exp = e
			break
		}
	}
	for _, q := range prefixes {
		if q.exp*dimensionOf(u).power == exp {
			return q.letters[0] + w.symbol, exp
		}
	}
	return w.symbol, 0
}
