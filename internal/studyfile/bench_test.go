package studyfile

import (
	"fmt"
	"strings"
	"testing"
)

// large writes a study of ten boards of twelve rails in a hundred states, more
// than a person measures.
func large() []byte {
	var b strings.Builder
	b.WriteString("study: large\ninstruments:\n  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A}\n" +
		"  meter: {kind: meter, ranges: {500 mV: {digit: 0.1 mV}, 5 V: {digit: 1 mV}}}\nboards:\n")
	for i := range 10 {
		fmt.Fprintf(&b, "  b%d:\n    rails:\n", i)
		for j := range 12 {
			fmt.Fprintf(&b, "      r%d: {nominal: 1.%d V ±5 %%, tap: clamp ×%d, loop: 60 mm AWG 18}\n", j, j%10, j+1)
		}
	}
	b.WriteString("states:\n")
	for i := range 100 {
		fmt.Fprintf(&b, "  s%d: {n: %d}\n", i, i)
	}
	b.WriteString("bench: {meter: meter}\nsittings:\n")
	for i := range 10 {
		fmt.Fprintf(&b, "  - board: b%d\n    on: 2026-03-14\n    steps:\n", i)
		for k := range 100 {
			fmt.Fprintf(&b, "      - state: s%d\n", k)
			for j := range 12 {
				fmt.Fprintf(&b, "        r%d: {i: %d.%d mV, v: 1.%d V}\n", j, 100+k, j, j%10)
			}
		}
	}
	return []byte(b.String())
}

func BenchmarkRead(b *testing.B) {
	src := large()
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		if _, _, err := Read("large.yaml", src); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	s, _, err := Read("large.yaml", large())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		written(b, s)
	}
}
