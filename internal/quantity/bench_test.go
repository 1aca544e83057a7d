package quantity

import "testing"

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"402.1 mV", "1.8 V ±2 %", "36..43 mV", "118.4 118.9 118.6 mV"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(text, Volt, ""); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
