package chart

import (
	"bytes"
	"testing"
)

func TestPDF(t *testing.T) {
	for _, g := range gallery() {
		d, err := g.draw(t, Options{Title: "What the chip draws: 0.1 Ω, −3 µA"})
		if err != nil {
			t.Fatal(err)
		}
		var one, two bytes.Buffer
		if err := d.WritePDF(&one); err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		if err := d.WritePDF(&two); err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		if !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Errorf("%s: written twice, it differs", g.name)
		}
		if !bytes.HasPrefix(one.Bytes(), []byte("%PDF-")) || !bytes.Contains(one.Bytes(), []byte("%%EOF")) {
			t.Errorf("%s: no PDF", g.name)
		}
	}
}

// Letters that the typeface lacks are replaced, not refused: names are the
// tester's.
func TestLettersThatAreMissing(t *testing.T) {
	ev := evening(t)
	for _, name := range []string{"core 🦦", "線路", "tab\tand\nline", "שלום", "a\u0301\u200d\ufeff", "\x01\x7f"} {
		ev.Boards[0].Rails[0].Name = name
		d, err := Lanes(ev, on("Otter", "one-busy"), Options{Title: name})
		if err != nil {
			t.Fatal(err)
		}
		checkLabels(t, d)
		for what, write := range map[string]func(*bytes.Buffer) error{
			"SVG": func(b *bytes.Buffer) error { return d.WriteSVG(b) },
			"PNG": func(b *bytes.Buffer) error { return d.WritePNG(b, 1) },
			"PDF": func(b *bytes.Buffer) error { return d.WritePDF(b) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil || b.Len() == 0 {
				t.Errorf("%q as %s: %d bytes, %v", name, what, b.Len(), err)
			}
		}
	}
}
