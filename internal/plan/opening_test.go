package plan

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"railtally/internal/studyfile"
)

// one makes the plan of a study with a single rail, given as its keys.
func one(t testing.TB, rail, expected string) *Plan {
	t.Helper()
	text := fmt.Sprintf(`study: what does opening it do?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 %% + 10 mA)}
  meter: {kind: meter, ranges: {500 mV: {digit: 0.1 mV, spec: ±(0.3 %% + 2 digits)}, 5 V: {digit: 1 mV, spec: ±(0.1 %% + 1 digit)}}}
boards: {Heron: {rails: {core: {%s}}}}
states: {busy: {}}
expected: {Heron: {core: %s}}
`, rail, expected)
	s, _, err := studyfile.Read("one.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(context.Background(), s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Each case names a place where a rail can be opened, and what must be said of
// it. The figures are those of testdata in package insertion: 5 A through 100 mm
// of AWG 22 drop 26.5 mV (and 1 mV in two joints), 5 mΩ beside a winding of 1 mΩ make a limit of 30 A trip
// at 5 A, 50 nH with 22 µF ring at 152 kHz.
func TestOpenings(t *testing.T) {
	for _, c := range []struct {
		name, rail, amps string
		code             string
		grade            Grade
		says             string
	}{
		{"sag eats the band", "nominal: 1 V ±3 %, tap: clamp, loop: 100 mm AWG 22", "5 A", "sag", Doubtful, "92 % of the 30.0 mV"},
		{"sag beyond the band", "nominal: 1 V ±2 %, tap: clamp, loop: 100 mm AWG 22", "5 A", "sag", Wrong, "140 %"},
		{"sag is sound", "nominal: 1 V ±3 %, tap: clamp, loop: 30 mm AWG 16", "5 A", "sag", Sound, "of the 30.0 mV"},
		{"no tolerance is assumed aloud", "nominal: 1 V, tap: clamp, loop: 30 mm AWG 16", "5 A", "sag", Sound, "assumed since none is stated"},
		{"feedback asked", "nominal: 1 V ±3 %, tap: clamp, loop: 100 mm AWG 22", "5 A", "feedback", Ask, "draws 5.4 % less"},
		{"feedback before", "nominal: 1 V ±3 %, tap: clamp, loop: 100 mm AWG 22, opening: {feedback: before the loop, load: converter}", "5 A", "feedback", Note, "same power"},
		{"feedback behind", "nominal: 1 V ±3 %, tap: clamp, loop: 100 mm AWG 22, opening: {feedback: behind the loop}", "5 A", "feedback", Note, "makes up for the drop"},
		{"switch side", "nominal: 1 V ±3 %, tap: clamp, feed: inductor leg, loop: 60 mm AWG 18, opening: {side: switch side}", "2 A", "side", Wrong, "switch side"},
		{"boost's inductor", "nominal: 5 V ±3 %, tap: clamp, feed: inductor leg, converter: boost, loop: 60 mm AWG 18", "2 A", "converter", Wrong, "boost"},
		{"a phase forgotten", "nominal: 1 V ±3 %, tap: clamp, feed: inductor leg, converter: buck, loop: 60 mm AWG 18, opening: {phases: 2}", "2 A", "phases", Wrong, "2 phases"},
		{"inside the winding's sensing", "nominal: 1 V ±3 %, tap: clamp, feed: inductor leg, converter: buck, loop: 4.8 mΩ, opening: {winding sensing: loop inside its taps, winding: 0.96 mΩ}", "2 A", "winding-sensing", Wrong, "trips at 5.00 A"},
		{"winding's sensing asked", "nominal: 1 V ±3 %, tap: clamp, feed: inductor leg, converter: buck, loop: 60 mm AWG 18", "2 A", "winding-sensing", Ask, "sense its current"},
		{"a step it cannot follow", "nominal: 1 V ±3 %, tap: clamp, feed: zero-ohm link, loop: 60 mm AWG 18, opening: {step: 2 A, step time: 1 µs}", "2 A", "kick", Wrong, "of what the rail may fall"},
		{"a step that a capacitor feeds", "nominal: 1 V ±5 %, tap: clamp, feed: zero-ohm link, loop: 60 mm AWG 18, opening: {step: 0.2 A, step time: 1 µs, capacitor: 22 µF}", "2 A", "kick", Sound, "rings at"},
		{"thin wire melts", "nominal: 1 V ±50 %, tap: clamp, loop: 20 mm AWG 36", "5 A", "fuse", Wrong, "melts at"},
		{"bead", "nominal: 1 V ±3 %, tap: clamp, feed: bead, loop: 60 mm AWG 18", "1 A", "bead", Note, "filter"},
		{"series meter", "nominal: 1 V ±3 %, tap: shunt 10 mΩ ±1 %", "5 A", "shunt-heat", Sound, "250 mW"},
		{"turns need wire", "nominal: 1 V ±3 %, tap: clamp ×10, loop: 100 mm AWG 24", "0.1 A", "loop-short", Doubtful, "hardly fit"},
		{"loop not said", "nominal: 1 V ±3 %, tap: clamp", "5 A", "loop-unknown", Ask, "AWG"},
		{"nothing opened", "nominal: 1 V ±3 %, tap: sense resistor 5 mΩ ±1 %", "5 A", "nothing-opened", Sound, "Nothing is put"},
		{"does it fit", "nominal: 1 V ±3 %, tap: clamp, loop: 60 mm AWG 18", "1 A", "pad", Ask, "1.0 mm"},
	} {
		o := one(t, c.rail, c.amps).Boards[0].Rails[0].Openings[0]
		found := false
		for _, k := range o.Remarks {
			if k.Code != c.code {
				continue
			}
			found = true
			if k.Grade != c.grade || !strings.Contains(k.Text, c.says) {
				t.Errorf("%s: %s: %s, want %s with %q", c.name, k.Grade, k.Text, c.grade, c.says)
			}
		}
		if !found {
			t.Errorf("%s: nothing is said of %q: %v", c.name, c.code, o.Remarks)
		}
	}
}

// What the better loops that are named come to is within a fifth of the band.
func TestBetterLoopsAreBetter(t *testing.T) {
	o := one(t, "nominal: 1 V ±3 %, tap: clamp, loop: 100 mm AWG 22", "5 A").Boards[0].Rails[0].Openings[0]
	if !o.SmallOK || o.Longest <= 0 {
		t.Fatalf("%+v", o)
	}
	for _, loop := range []string{fmt.Sprintf("100 mm AWG %d", o.Smallest), fmt.Sprintf("%.3f mm AWG 22", 1000*o.Longest)} {
		x := one(t, "nominal: 1 V ±3 %, tap: clamp, loop: "+loop, "5 A").Boards[0].Rails[0].Openings[0]
		if x.Drop > 0.2*0.030*(1+1e-4) || math.IsNaN(x.Drop) {
			t.Errorf("%s drops %g V, more than a fifth of 30 mV", loop, x.Drop)
		}
	}
}

// A rail of which nothing is expected is asked about, and its plan still stands.
func TestNothingExpected(t *testing.T) {
	s, _, err := studyfile.Read("x.yaml", []byte(`study: q
instruments: {clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A}, meter: {kind: meter, digit: 1 mV, to: 5 V}}
boards: {Heron: {rails: {core: {nominal: 1 V, tap: clamp, loop: 60 mm AWG 18}}}}
states: {busy: {}}
`))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(context.Background(), s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Questions) != 1 || !strings.Contains(p.Questions[0].String(), "What will Heron core carry") {
		t.Errorf("questions: %q", p.Questions)
	}
	if c := p.Counsels[0]; c.Possible() || c.Reached() || !strings.Contains(c.Sentence(), "cannot be predicted") {
		t.Errorf("%+v: %s", c, c.Sentence())
	}
	if len(p.Work) == 0 {
		t.Error("no work is planned")
	}
}

// A study without states or without a meter cannot be planned, and is told why.
func TestRefused(t *testing.T) {
	for text, want := range map[string]string{
		"study: q\nboards: {Heron: {rails: {core: {nominal: 1 V, not opened: 0..1 A}}}}\n":                     "no states",
		"study: q\nboards: {Heron: {rails: {core: {nominal: 1 V, not opened: 0..1 A}}}}\nstates: {busy: {}}\n": "no meter",
	} {
		s, _, err := studyfile.Read("x.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Make(context.Background(), s, Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
