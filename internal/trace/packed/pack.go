package packed

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

// blockSize is how many whole numbers share one width.
const blockSize = 128

// maxWidth is the widest a packed number can be: differences of numbers below 2^51.
const maxWidth = 53

// differences marks a block whose numbers are packed as differences of neighbours.
const differences = 0x80

// slack is how many zero bytes stand behind packed numbers, so that eight bytes can be read anywhere.
const slack = 8

// packBlock appends up to blockSize whole numbers of magnitude below 2^51. Its form: a byte of width
// and kind; the least number (or difference) as varint; of differences also the first number; then
// the numbers above the least in width bits each, in 64-bit words, least significant first.
func packBlock(dst []byte, x []int64) []byte {
	lo, hi := x[0], x[0]
	for _, v := range x[1:] {
		lo, hi = min(lo, v), max(hi, v)
	}
	width := bits.Len64(uint64(hi - lo))
	var diff [blockSize]int64
	if len(x) > 1 && width > 0 {
		d0, d1 := x[1]-x[0], x[1]-x[0]
		for i := 1; i < len(x); i++ {
			d := x[i] - x[i-1]
			diff[i] = d
			d0, d1 = min(d0, d), max(d1, d)
		}
		if w := bits.Len64(uint64(d1 - d0)); w < width {
			diff[0] = d0
			dst = append(dst, byte(w)|differences)
			dst = binary.AppendVarint(dst, d0)
			dst = binary.AppendVarint(dst, x[0])
			return packBits(dst, diff[:len(x)], d0, w)
		}
	}
	dst = append(dst, byte(width))
	dst = binary.AppendVarint(dst, lo)
	return packBits(dst, x, lo, width)
}

func packBits(dst []byte, x []int64, least int64, width int) []byte {
	if width == 0 {
		return dst
	}
	var word uint64
	fill := 0
	for _, v := range x {
		u := uint64(v - least)
		word |= u << fill
		if fill += width; fill >= 64 {
			dst = binary.LittleEndian.AppendUint64(dst, word)
			fill -= 64
			word = u >> (width - fill)
		}
	}
	if fill > 0 {
		dst = binary.LittleEndian.AppendUint64(dst, word)
	}
	return dst
}

var errCut = errors.New("packed: the chunk ends too early")

// unpackBlock fills x and returns what is left of src. At least slack bytes must follow the block.
func unpackBlock(x []int64, src []byte) ([]byte, error) {
	if len(src) == 0 {
		return nil, errCut
	}
	kind := src[0]
	width := int(kind &^ differences)
	if width > maxWidth {
		return nil, errors.New("packed: a width beyond 53 bits")
	}
	src = src[1:]
	least, n := binary.Varint(src)
	if n <= 0 {
		return nil, errCut
	}
	src = src[n:]
	var first int64
	if kind&differences != 0 {
		if first, n = binary.Varint(src); n <= 0 {
			return nil, errCut
		}
		src = src[n:]
	}
	size := (len(x)*width + 63) / 64 * 8
	if len(src) < size+slack {
		return nil, errCut
	}
	unpackBits(x, src, least, width)
	if kind&differences != 0 {
		x[0] = first
		for i := 1; i < len(x); i++ {
			x[i] += x[i-1]
		}
	}
	return src[size:], nil
}

// unpackBits reads numbers of width bits: eight bytes at a time hold any of up to 57 bits.
func unpackBits(x []int64, src []byte, least int64, width int) {
	mask := uint64(1)<<width - 1
	at := 0
	for i := range x {
		u := binary.LittleEndian.Uint64(src[at>>3:]) >> (at & 7) & mask
		x[i] = int64(u) + least
		at += width
	}
}
