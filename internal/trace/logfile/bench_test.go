package logfile

import (
	"bytes"
	"context"
	"fmt"
	"testing"
)

// table returns a log of a time and six columns, about 57 bytes to a row.
func benchLog(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("Time (s),Core (V),Core (A),Memory (V),Memory (A),IO (V),IO (A)\n")
	for i := range rows {
		x := float64(i*7919%1000) / 1e5
		fmt.Fprintf(&b, "%.3f,%.5f,%.5f,%.5f,%.5f,%.5f,%.5f\n", float64(i)/1000, 0.9+x, 3.2+x, 1.1+x, 0.85+x, 3.3+x, 0.21+x)
	}
	return b.Bytes()
}

func BenchmarkImportWide(b *testing.B) {
	log := benchLog(200_000)
	d, _, err := Detect(bytes.NewReader(log), Hints{})
	if err != nil {
		b.Fatal(err)
	}
	for _, workers := range []int{1, 0} {
		b.Run(fmt.Sprintf("workers=%d", workers), func(b *testing.B) {
			b.SetBytes(int64(len(log)))
			for b.Loop() {
				if _, err := Import(context.Background(), bytes.NewReader(log), &d.Profile, Options{Workers: workers}, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkDetect(b *testing.B) {
	log := benchLog(10_000)
	for b.Loop() {
		if _, _, err := Detect(bytes.NewReader(log), Hints{}); err != nil {
			b.Fatal(err)
		}
	}
}
