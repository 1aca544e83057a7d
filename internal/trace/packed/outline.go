package packed

import (
	"encoding/binary"
	"errors"

	"railtally/internal/trace"
)

// The steps of outlines.
const (
	BucketSize = 256 // samples of a bucket of level 0
	Fan        = 16  // buckets that make one of the next level
	RunSize    = 256 // buckets of a stored run: a chunk of level 0
	Levels     = 6   // 256 to 268 million samples a bucket
)

// Span returns how many samples a bucket of a level covers.
func Span(level int) int64 {
	n := int64(BucketSize)
	for range level {
		n *= Fan
	}
	return n
}

// A Bucket says what a plot shows of a run of samples.
type Bucket struct {
	N        int64   // finite samples
	Odd      int64   // missing or beyond the meter's range
	Min, Max float64 // of the finite samples; 0 when there are none
	Mean     float64
}

// Add takes in the bucket that follows.
func (b *Bucket) Add(o Bucket) {
	b.Odd += o.Odd
	if o.N == 0 {
		return
	}
	if b.N == 0 {
		o.Odd = b.Odd
		*b = o
		return
	}
	b.Min, b.Max = min(b.Min, o.Min), max(b.Max, o.Max)
	b.N += o.N
	b.Mean += (o.Mean - b.Mean) * (float64(o.N) / float64(b.N))
}

// Summarise appends the buckets of level 0 of v, and returns its exact statistics, which are merged from them:
// both cost one look at the samples.
func Summarise(dst []Bucket, v []float64) ([]Bucket, trace.Moments) {
	var all trace.Moments
	for len(v) > 0 {
		n := min(len(v), BucketSize)
		m := trace.MomentsOf(v[:n])
		b := Bucket{N: m.N, Odd: m.Missing + m.Over + m.Under, Min: m.Min, Max: m.Max}
		if m.N > 0 {
			b.Mean = m.Mean()
		}
		dst = append(dst, b)
		all.Merge(m)
		v = v[n:]
	}
	return dst, all
}

// Raise appends the buckets of the level above b, whose first begins one of them.
func Raise(dst []Bucket, b []Bucket) []Bucket {
	for len(b) > 0 {
		n := min(len(b), Fan)
		var up Bucket
		for _, x := range b[:n] {
			up.Add(x)
		}
		dst = append(dst, up)
		b = b[n:]
	}
	return dst
}

// EncodeRun appends up to RunSize buckets as one blob: five columns, each coded as a chunk behind its
// length.
func (e *Encoder) EncodeRun(dst []byte, b []Bucket) ([]byte, error) {
	if len(b) == 0 || len(b) > RunSize {
		return dst, errors.New("packed: a run of no or too many buckets")
	}
	var cols [5][RunSize]float64
	for i, x := range b {
		cols[0][i], cols[1][i] = float64(x.N), float64(x.Odd)
		cols[2][i], cols[3][i], cols[4][i] = x.Min, x.Max, x.Mean
	}
	var blob []byte
	for k := range cols {
		var err error
		if blob, err = e.Encode(blob[:0], cols[k][:len(b)]); err != nil {
			return dst, err
		}
		dst = binary.AppendUvarint(dst, uint64(len(blob)))
		dst = append(dst, blob...)
	}
	return dst, nil
}

// DecodeRun appends the buckets of a run.
func (d *Decoder) DecodeRun(dst []Bucket, src []byte) ([]Bucket, error) {
	var cols [5][]float64
	for k := range cols {
		n, size := binary.Uvarint(src)
		if size <= 0 || n > uint64(len(src)-size) {
			return dst, errCut
		}
		var err error
		if cols[k], err = d.Decode(nil, src[size:size+int(n)]); err != nil {
			return dst, err
		}
		if len(cols[k]) > RunSize || len(cols[k]) != len(cols[0]) {
			return dst, errors.New("packed: a run of columns that differ in length")
		}
		src = src[size+int(n):]
	}
	if len(src) != 0 {
		return dst, errors.New("packed: bytes left over")
	}
	for i := range cols[0] {
		n, odd := cols[0][i], cols[1][i]
		if !(n >= 0 && n < maxWhole && odd >= 0 && odd < maxWhole) {
			return dst, errors.New("packed: a bucket with an impossible count")
		}
		dst = append(dst, Bucket{N: int64(n), Odd: int64(odd), Min: cols[2][i], Max: cols[3][i], Mean: cols[4][i]})
	}
	return dst, nil
}
