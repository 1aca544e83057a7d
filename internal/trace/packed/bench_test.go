package packed

import "testing"

func BenchmarkChunk(b *testing.B) {
	e, d := coders(b)
	for _, name := range []string{"times of 1 kHz", "five digits", "binary"} {
		v := made(b, ChunkSize)[name]
		blob, err := e.Encode(nil, v)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("encode "+name, func(b *testing.B) {
			b.SetBytes(8 * ChunkSize)
			for b.Loop() {
				blob, _ = e.Encode(blob[:0], v)
			}
		})
		out := make([]float64, 0, ChunkSize)
		b.Run("decode "+name, func(b *testing.B) {
			b.SetBytes(8 * ChunkSize)
			for b.Loop() {
				out, _ = d.Decode(out[:0], blob)
			}
		})
		b.Run("buckets "+name, func(b *testing.B) {
			b.SetBytes(8 * ChunkSize)
			var bk []Bucket
			for b.Loop() {
				bk, _ = Summarise(bk[:0], v)
			}
		})
	}
}
