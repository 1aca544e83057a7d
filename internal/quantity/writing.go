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
}

// writings returns the ways to write a unit, the SI unit first.
func writings(u Unit) []writing {
	d := dimensionOf(u)
	one := big.NewRat(1, 1)
	out := []writing{{d.symbol, one, true}}
	if !d.compound {
		return append(out, odd(u)...)
	}
	nums := append([]writing{{dimensionOf(d.num).symbol, one, true}}, odd(d.num)...)
	dens := append([]writing{{dimensionOf(d.den).symbol, one, true}}, odd(d.den)...)
	for i, n := range nums {
		for j, m := range dens {
			if i > 0 || j > 0 {
				out = append(out, writing{n.symbol + "/" + m.symbol, new(big.Rat).Quo(n.scale, m.scale), n.prefixed})
			}
		}
	}
	return out
}

// odd returns the ways to write a unit that are no power of ten of SI.
func odd(u Unit) []writing {
	var out []writing
	switch u {
	case Second, Metre:
		for _, a := range atoms {
			if a.unit == u && !a.prefixed {
				out = append(out, writing{a.symbols[0], a.scale(0), false})
			}
		}
	case Byte, Bit:
		other, f := Bit, big.NewRat(1, 8)
		if u == Bit {
			other, f = Byte, big.NewRat(8, 1)
		}
		for _, w := range append([]writing{{dimensionOf(u).symbol, big.NewRat(1, 1), true}}, writing{dimensionOf(other).symbol, f, true}) {
			if w.scale.Cmp(big.NewRat(1, 1)) != 0 {
				out = append(out, w)
			}
			for i, l := range binary {
				k := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), uint(10*(i+1))))
				out = append(out, writing{l + w.symbol, k.Mul(k, w.scale), false})
			}
		}
	}
	return out
}

// write returns the shortest decimal that reads back as x in this writing.
func (w writing) write(x float64) decimal {
	if w.scale.Cmp(big.NewRat(1, 1)) == 0 || x == 0 {
		return significant(x, 0)
	}
	q := new(big.Rat).SetFloat64(math.Abs(x))
	q.Quo(q, w.scale)
	about, _ := q.Float64()
	power := significant(about, 0).power()
	for digits := 1; ; digits++ {
		place := power - digits + 1
		text := new(big.Rat).Mul(q, power10(-place)).FloatString(0)
		d := decimal{neg: x < 0, digits: text, exp: place}.clean()
		// Twenty digits always read back; the bound keeps the loop plainly finite.
		if d.read(w.scale) == math.Abs(x) || digits == 20 {
			return d.trimmed()
		}
	}
}

// read returns the magnitude that the decimal has in SI.
func (d decimal) read(scale *big.Rat) float64 {
	i, _ := new(big.Int).SetString(d.digits, 10)
	r := new(big.Rat).SetInt(i)
	f, _ := r.Mul(r, power10(d.exp)).Mul(r, scale).Float64()
	return f
}

// place returns the power of ten that a step is in this writing, if it is one.
func (w writing) place(step float64) (int, bool) {
	if !(step > 0) || math.IsInf(step, 0) {
		return 0, false
	}
	d := w.write(step)
	return d.exp, d.digits == "1"
}

// choose returns the writing in which a step is a power of ten, and that power. A step that no
// writing fits, as of an entry made by a program, gives the SI unit and ok false.
func choose(u Unit, step float64) (w writing, place int, ok bool) {
	all := writings(u)
	for _, w := range all {
		if place, ok := w.place(step); ok {
			return w, place, true
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
