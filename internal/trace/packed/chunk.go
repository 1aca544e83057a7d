package packed

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"

	"github.com/klauspost/compress/zstd"
)

// ChunkSize is how many samples a chunk holds; only the last of a series holds fewer.
const ChunkSize = 1 << 16

// The codings of a chunk, its first byte.
const (
	codeDecimal = 1
	codePlanes  = 2
)

// An Encoder makes blobs of runs of samples. It is used by one goroutine at a time.
type Encoder struct {
	x    []int64
	odd  []uint32
	flat []byte
	zstd *zstd.Encoder
	crc  *crc32.Table
}

// NewEncoder returns an encoder with room for one chunk.
func NewEncoder() (*Encoder, error) {
	z, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1), zstd.WithEncoderCRC(false),
		zstd.WithWindowSize(ChunkSize*8), zstd.WithLowerEncoderMem(true))
	if err != nil {
		return nil, err
	}
	return &Encoder{x: make([]int64, ChunkSize), zstd: z, crc: crc32.MakeTable(crc32.Castagnoli)}, nil
}

// Encode appends v, at most ChunkSize samples of any bits, to dst as one blob. The same samples give
// the same blob.
func (e *Encoder) Encode(dst []byte, v []float64) ([]byte, error) {
	if len(v) == 0 || len(v) > ChunkSize {
		return dst, fmt.Errorf("packed: %d samples in a chunk, accepted are 1 to %d", len(v), ChunkSize)
	}
	start := len(dst)
	dst = append(dst, codeDecimal)
	dst = binary.AppendUvarint(dst, uint64(len(v)))
	dst, ok := e.decimal(dst, v)
	if !ok {
		dst[start] = codePlanes
		dst = e.planes(dst, v)
	}
	return binary.LittleEndian.AppendUint32(dst, crc32.Checksum(dst[start:], e.crc)), nil
}

// planes appends the differing bits of neighbours, the first byte of all values, then the second, and
// so on: bytes of like meaning repeat each other most.
func (e *Encoder) planes(dst []byte, v []float64) []byte {
	n := len(v)
	if len(e.flat) < 8*n {
		e.flat = make([]byte, 8*n)
	}
	flat := e.flat[:8*n]
	last := uint64(0)
	for i, f := range v {
		b := math.Float64bits(f)
		d := b ^ last
		last = b
		for k := range 8 {
			flat[k*n+i] = byte(d >> (8 * k))
		}
	}
	return e.zstd.EncodeAll(flat, dst)
}

// A Decoder reads blobs. It is used by one goroutine at a time.
type Decoder struct {
	flat []byte
	zstd *zstd.Decoder
	crc  *crc32.Table
}

// NewDecoder returns a decoder that refuses blobs which would take more memory than a chunk.
func NewDecoder() (*Decoder, error) {
	z, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(ChunkSize*8), zstd.WithDecoderLowmem(true))
	if err != nil {
		return nil, err
	}
	return &Decoder{zstd: z, crc: crc32.MakeTable(crc32.Castagnoli)}, nil
}

// Close frees what the decoder holds.
func (d *Decoder) Close() { d.zstd.Close() }

// Decode appends the samples of a blob to dst. Any blob that Encode did not make is refused.
func (d *Decoder) Decode(dst []float64, blob []byte) ([]float64, error) {
	if len(blob) < 6 {
		return dst, errCut
	}
	body := blob[:len(blob)-4]
	if crc32.Checksum(body, d.crc) != binary.LittleEndian.Uint32(blob[len(body):]) {
		return dst, errors.New("packed: the chunk's bytes have changed (checksum)")
	}
	n, k := binary.Uvarint(body[1:])
	if k <= 0 || n == 0 || n > ChunkSize {
		return dst, errors.New("packed: a chunk of no or too many samples")
	}
	start := len(dst)
	dst = append(dst, make([]float64, n)...)
	v, src := dst[start:], body[1+k:]
	var err error
	switch body[0] {
	case codeDecimal:
		err = undecimal(v, src)
	case codePlanes:
		err = d.unplane(v, src)
	default:
		err = fmt.Errorf("packed: coding %d is not known", body[0])
	}
	if err != nil {
		return dst[:start], err
	}
	return dst, nil
}

func (d *Decoder) unplane(v []float64, src []byte) (err error) {
	if d.flat, err = d.zstd.DecodeAll(src, d.flat[:0]); err != nil {
		return fmt.Errorf("packed: %w", err)
	}
	n := len(v)
	if len(d.flat) != 8*n {
		return errCut
	}
	last := uint64(0)
	for i := range v {
		for k := range 8 {
			last ^= uint64(d.flat[k*n+i]) << (8 * k)
		}
		v[i] = math.Float64frombits(last)
	}
	return nil
}
