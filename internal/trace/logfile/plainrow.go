package logfile

import (
	"encoding/binary"
	"math/bits"
)

// A plainColumn is where the numbers of a column go when every field of a row is a plain number.
type plainColumn struct {
	to    []float64 // by row
	power uint      // each is divided by 10^power
	gain  float64
}

// plainColumns returns the columns of a log whose every field is a plain number times a power of ten up to
// one, nil of any other.
func (pl *plan) plainColumns(b *block) []plainColumn {
	if pl.delim == ' ' {
		return nil
	}
	columns := make([]plainColumn, len(pl.fields))
	for k, f := range pl.fields {
		if !f.direct || f.unit.power > 0 || f.unit.power < -9 || f.do == seconds && pl.time.Kind != Elapsed {
			return nil
		}
		to := b.t
		if f.do == value {
			to = b.v[f.slot]
		}
		columns[k] = plainColumn{to, uint(-f.unit.power), f.gain}
	}
	if pl.time.Kind != NoTime && pl.column(seconds) < 0 {
		return nil
	}
	return columns
}

// column returns the first field with an action, −1 when there is none.
func (pl *plan) column(a action) int {
	for k, f := range pl.fields {
		if f.do == a {
			return k
		}
	}
	return -1
}

// plainRow reads a row of plain numbers that begins at s[i] and returns where the next begins; 0 for a row
// with anything else in it, which is then read field by field. It does in one piece what shortNumber
// does for one number, as most of the time of a long log is spent here.
func plainRow(s []byte, i, row int, delim, mark byte, columns []plainColumn) int {
	last := len(columns) - 1
	for k := range columns {
		c := &columns[k]
		if i+10 > len(s) || row >= len(c.to) {
			return 0
		}
		w := binary.LittleEndian.Uint64(s[i:])
		neg := byte(w) == '-'
		if neg {
			i++
			w = binary.LittleEndian.Uint64(s[i:])
		}
		const zeros = 0x3030303030303030
		t := w ^ zeros
		stops := ((t + 0x7676767676767676) | t) & 0x8080808080808080
		point := uint(bits.TrailingZeros64(stops)) &^ 7
		n, power := point, c.power
		var x float64
		var end int
		if rest := stops & (stops - 1); rest != 0 && byte(w>>(point&63)) == mark {
			stop := uint(bits.TrailingZeros64(rest)) &^ 7
			low := uint64(1)<<(point&63) - 1
			w = w&low | w>>8&^low
			n = stop - 8
			power += (n - point) >> 3
			end = i + int(stop>>3)
		} else {
			end = i + int(n>>3)
		}
		if stops != 0 && n != 0 && end < len(s) && (s[end] == delim || s[end] == '\n' || s[end] == '\r') {
			w = w<<((64-n)&63) | zeros>>(n&63)
			w -= zeros
			w = w*10 + w>>8
			w = ((w&0x000000FF000000FF)*(100+1000000<<32) + (w>>16&0x000000FF000000FF)*(1+10000<<32)) >> 32
			x = float64(uint32(w)) / pow10[power&31]
			if neg {
				x = -x
			}
		} else {
			if neg {
				i--
			}
			if x, end = fastNumber(s, i, mark, -int(c.power)); end < 0 || end >= len(s) {
				return 0
			}
		}
		c.to[row] = x * c.gain
		switch e := s[end]; {
		case e == delim && k < last:
			i = end + 1
		case k < last:
			return 0
		case e == '\n':
			return end + 1
		case e == '\r' && end+1 < len(s) && s[end+1] == '\n':
			return end + 2
		}
	}
	return 0
}
