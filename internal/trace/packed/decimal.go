package packed

import (
	"encoding/binary"
	"errors"
	"math"
)

// maxPower is the largest power of ten that is a float64.
const maxPower = 22

// tens are the powers of ten that a float64 holds exactly.
func tens() [maxPower + 1]float64 {
	return [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
		1e17, 1e18, 1e19, 1e20, 1e21, 1e22}
}

// round2 added to and taken from a number below 2^51 rounds it to a whole one.
const round2 = 3 << 51

// maxWhole bounds the whole numbers that stand for values.
const maxWhole = 1 << 51

// asWhole returns the whole number that divided by ten is v to the last bit, if there is one.
func asWhole(v, ten float64) (int64, bool) {
	x := v * ten
	i := int64((x + round2) - round2)
	if x >= maxWhole || x <= -maxWhole || x != x {
		return 0, false
	}
	return i, math.Float64bits(float64(i)/ten) == math.Float64bits(v)
}

// sampled is how many values choose the power of ten.
const sampled = 64

// choosePower returns the least power of ten at or above from that makes whole numbers of nearly all
// sampled values; false when there is none.
func choosePower(v []float64, from int) (int, bool) {
	stride := max(len(v)/sampled, 1)
	powers := tens()
	for p := from; p <= maxPower; p++ {
		odd, seen := 0, 0
		for i := 0; i < len(v); i += stride {
			if v[i]-v[i] != 0 {
				continue
			}
			seen++
			if _, ok := asWhole(v[i], powers[p]); !ok {
				if odd++; odd > 2 {
					break
				}
			}
		}
		if seen > 0 && odd*16 <= seen {
			return p, true
		}
	}
	return 0, false
}

// wholes fills x with the whole numbers of v and notes the places of values that have none; it gives
// up when there are more than one in sixteen. At such places the number before is repeated.
func (e *Encoder) wholes(v []float64, ten float64) bool {
	limit := len(v)/16 + 4
	e.odd = e.odd[:0]
	x := e.x[:len(v)]
	last := int64(0)
	for i, f := range v {
		k, ok := asWhole(f, ten)
		if !ok {
			if len(e.odd) == limit {
				return false
			}
			e.odd = append(e.odd, uint32(i))
			k = last
		}
		x[i], last = k, k
	}
	return true
}

// decimal appends v as whole numbers: the power of ten, the odd values, then packed blocks. It
// reports false, and appends nothing, where v does not consist of decimals.
func (e *Encoder) decimal(dst []byte, v []float64) ([]byte, bool) {
	powers := tens()
	const tries = 3 // a sample may miss values with more digits
	for p, k := 0, 0; k < tries; p, k = p+1, k+1 {
		var ok bool
		if p, ok = choosePower(v, p); !ok {
			return dst, false
		}
		if e.wholes(v, powers[p]) {
			dst = append(dst, byte(p))
			break
		}
		if k == tries-1 {
			return dst, false
		}
	}
	dst = binary.AppendUvarint(dst, uint64(len(e.odd)))
	at := uint32(0)
	for _, i := range e.odd {
		dst = binary.AppendUvarint(dst, uint64(i-at))
		dst = binary.LittleEndian.AppendUint64(dst, math.Float64bits(v[i]))
		at = i
	}
	for x := e.x[:len(v)]; len(x) > 0; {
		n := min(len(x), blockSize)
		dst = packBlock(dst, x[:n])
		x = x[n:]
	}
	return append(dst, make([]byte, slack)...), true
}

// undecimal fills v from what decimal wrote.
func undecimal(v []float64, src []byte) error {
	if len(src) < 2 || src[0] > maxPower {
		return errors.New("packed: no such power of ten")
	}
	ten := tens()[src[0]]
	count, n := binary.Uvarint(src[1:])
	if n <= 0 || count > uint64(len(v)) {
		return errCut
	}
	src = src[1+n:]
	odd := src
	for range count {
		_, n := binary.Uvarint(src)
		if n <= 0 || len(src) < n+8 {
			return errCut
		}
		src = src[n+8:]
	}
	var x [blockSize]int64
	for rest := v; len(rest) > 0; {
		k := min(len(rest), blockSize)
		var err error
		if src, err = unpackBlock(x[:k], src); err != nil {
			return err
		}
		for i := range rest[:k] {
			rest[i] = float64(x[i]) / ten
		}
		rest = rest[k:]
	}
	if len(src) != slack {
		return errors.New("packed: bytes left over")
	}
	at := uint64(0)
	for range count {
		step, n := binary.Uvarint(odd)
		if at += step; step > uint64(len(v)) || at >= uint64(len(v)) {
			return errors.New("packed: an odd value beyond the end")
		}
		v[at] = math.Float64frombits(binary.LittleEndian.Uint64(odd[n:]))
		odd = odd[n+8:]
	}
	return nil
}
