package chart

import (
	"io"
	"testing"
)

func BenchmarkLanesSVG(b *testing.B) {
	t := dozen(b)
	for b.Loop() {
		d, err := Lanes(t, on("Otter", "busy"), Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := d.WriteSVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLanesPNG(b *testing.B) {
	t := dozen(b)
	d, err := Lanes(t, on("Otter", "busy"), Frame("Otter, busy"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := d.WritePNG(io.Discard, 1); err != nil {
			b.Fatal(err)
		}
	}
}
