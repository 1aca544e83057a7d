package packed

import (
	"encoding/binary"
	"errors"
	"math"

	"railtally/internal/trace"
)

// AppendMoments appends exact statistics: four counts as uvarints, then the figures' bits.
func AppendMoments(dst []byte, m trace.Moments) []byte {
	for _, n := range [...]int64{m.N, m.Missing, m.Over, m.Under} {
		dst = binary.AppendUvarint(dst, uint64(n))
	}
	for _, f := range [...]float64{m.Min, m.Max, m.First, m.Last, m.MeanHigh, m.MeanLow, m.SumHigh, m.SumLow} {
		dst = binary.LittleEndian.AppendUint64(dst, math.Float64bits(f))
	}
	return dst
}

// ReadMoments reads what AppendMoments wrote.
func ReadMoments(src []byte) (m trace.Moments, err error) {
	for _, p := range [...]*int64{&m.N, &m.Missing, &m.Over, &m.Under} {
		n, k := binary.Uvarint(src)
		if k <= 0 || n > math.MaxInt64/4 {
			return m, errors.New("packed: statistics cannot be read")
		}
		*p, src = int64(n), src[k:]
	}
	fields := [...]*float64{&m.Min, &m.Max, &m.First, &m.Last, &m.MeanHigh, &m.MeanLow, &m.SumHigh, &m.SumLow}
	if len(src) != 8*len(fields) {
		return m, errors.New("packed: statistics cannot be read")
	}
	for i, p := range fields {
		*p = math.Float64frombits(binary.LittleEndian.Uint64(src[8*i:]))
	}
	return m, nil
}
