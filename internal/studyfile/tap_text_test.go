package studyfile

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// shelf has names that begin with one another and ranges that look like turns.
func shelf() []*study.Instrument {
	amps, volts := quantity.Ampere, quantity.Volt
	rg := func(u quantity.Unit, names ...string) (out []*study.Range) {
		for _, n := range names {
			out = append(out, &study.Range{Name: n, Measures: u})
		}
		return out
	}
	return []*study.Instrument{
		{Name: "red", Kind: study.Clamp, Ranges: rg(amps, "low", "very low", "×10")},
		{Name: "red clamp", Kind: study.Clamp, Ranges: rg(amps, "only")},
		{Name: "flat", Kind: study.Clamp, Ranges: rg(amps, "")},
		{Name: "shunt A", Kind: study.Shunt},
		{Name: "desk", Kind: study.Meter, Ranges: append(rg(volts, "5 V"), rg(amps, "10 A")...)},
		{Name: "two", Kind: study.Meter, Ranges: rg(amps, "1 A", "10 A")},
		{Name: "probe", Kind: study.Thermometer},
	}
}

func TestParseTap(t *testing.T) {
	res := func(text string) *study.ShuntValue {
		e, err := quantity.Parse(text, quantity.Ohm, "")
		if err != nil {
			t.Fatal(err)
		}
		return &study.ShuntValue{Resistance: e}
	}
	for _, c := range []struct {
		text string
		want study.Tap
	}{
		{"red low", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 1}},
		{"  red   very  low ", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "very low", Turns: 1}},
		{"red low ×5 reversed", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 5, Reversed: true}},
		{"red low x5", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 5}},
		{"red low × 5", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 5}},
		{"red low 5 turns", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 5}},
		{"red low reversed 1 turn", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "low", Turns: 1, Reversed: true}},
		{"red ×10 ×3", study.Tap{Kind: study.TapClamp, Instrument: "red", Range: "×10", Turns: 3}},
		{"red clamp", study.Tap{Kind: study.TapClamp, Instrument: "red clamp", Range: "only", Turns: 1}},
		{"red clamp ×2", study.Tap{Kind: study.TapClamp, Instrument: "red clamp", Range: "only", Turns: 2}},
		{"flat ×2", study.Tap{Kind: study.TapClamp, Instrument: "flat", Turns: 2}},
		{"shunt A reversed", study.Tap{Kind: study.TapShunt, Instrument: "shunt A", Turns: 1, Reversed: true}},
		{"shunt 100 mΩ ±1 %", study.Tap{Kind: study.TapShunt, Turns: 1, Resistor: res("100 mΩ ±1 %")}},
		{"sense resistor 20 mΩ ±1 % reversed", study.Tap{Kind: study.TapSense, Turns: 1, Reversed: true, Resistor: res("20 mΩ ±1 %")}},
		{"inductor 1.2 mΩ ±8 % at 25 °C", study.Tap{Kind: study.TapInductor, Turns: 1, WindingRef: 25, Resistor: res("1.2 mΩ ±8 %")}},
		{"series meter desk 10 A", study.Tap{Kind: study.TapSeries, Instrument: "desk", Range: "10 A", Turns: 1}},
		{"series meter desk", study.Tap{Kind: study.TapSeries, Instrument: "desk", Range: "10 A", Turns: 1}},
		{"desk 10 A reversed", study.Tap{Kind: study.TapSeries, Instrument: "desk", Range: "10 A", Turns: 1, Reversed: true}},
		{"two 1 A", study.Tap{Kind: study.TapSeries, Instrument: "two", Range: "1 A", Turns: 1}},
	} {
		got, fault := parseTap(c.text, shelf())
		if fault != nil {
			t.Errorf("%q: %+v", c.text, fault)
			continue
		}
		if d := cmp.Diff(c.want, *got); d != "" {
			t.Errorf("%q:\n%s", c.text, d)
		}
	}
}

func TestParseTapRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                              `no instrument called ""`,
		"red":                           "which range of red?",
		"red ×5":                        "which range of red?",
		"red lo":                        `red has no range called "lo"`,
		"rde low":                       `no instrument called "rde"`,
		"blue clamp low ×5":             `no instrument called "blue clamp low"`,
		"red low ×":                     `"×" is not understood after red`,
		"red low × many":                `"many" is no number of turns`,
		"red low ×99999999999999999999": "is no number of turns",
		"flat high":                     `"high" is not understood after flat`,
		"red clamp high":                `"high" is not understood after red clamp`,
		"shunt":                         "the shunt has no value",
		"inductor 1 mΩ at noon":         "number",
		"inductor 1 mV at 20 °C":        "a resistance is wanted here",
		"series meter":                  "which meter is in series?",
		"series meter nobody":           `no instrument called "nobody"`,
		"series meter two":              "which range of two?",
		"series meter flat":             "flat is a clamp; only a meter can be in series",
		"two 5 A":                       `two has no range called "5 A"`,
		"probe":                         "probe is a thermometer",
	} {
		tap, fault := parseTap(text, shelf())
		if fault == nil {
			t.Errorf("%q is read as %+v", text, tap)
		} else if !strings.Contains(fault.message, want) {
			t.Errorf("%q: %q, wanted %q", text, fault.message, want)
		}
	}
	if _, fault := parseTap("red low", nil); fault == nil || fault.accept != "an instrument listed under instruments" {
		t.Errorf("without instruments: %+v", fault)
	}
}

func TestStepTime(t *testing.T) {
	before := time.Date(2026, 3, 14, 22, 30, 0, 0, time.UTC)
	for text, want := range map[string]string{
		"22:30": "2026-03-14 22:30:00", "23:59:30": "2026-03-14 23:59:30", "00:10": "2026-03-15 00:10:00",
		"22:29": "2026-03-15 22:29:00", "2026-03-16 01:00": "2026-03-16 01:00:00", "2026-03-14T23:00:01": "2026-03-14 23:00:01",
		"25:00": "", "noon": "", "": "", "15:31 CET": "", "2026-02-30 10:00": "",
	} {
		got, pause, ok := stepTime(text, before)
		if ok != (want != "") || ok && got.Format("2006-01-02 15:04:05") != want {
			t.Errorf("%q is %v, %v; wanted %q", text, got, ok, want)
		}
		if text == "22:29" && pause <= maxPause {
			t.Errorf("a slip of the pen counts as a pause of %v", pause)
		}
	}
}

// TestAmbiguousComparison: where a text could be split in two ways, the map form
// is asked for, is written, and is read.
func TestAmbiguousComparison(t *testing.T) {
	const head = "study: x\nboards:\n  A: {rails: {r: {nominal: 1 V, not opened: 0..1 mA}}}\n  A b: {rails: {r: {nominal: 1 V, not opened: 0..1 mA}}}\n" +
		"states: {c: {f: 1}, b c: {f: 2}, c against A c: {f: 3}}\ncompare:\n  - "
	for text, want := range map[string]string{
		"A b c against A c":                                 "can be understood in more than one way",
		"A c against A c against A c":                       "can be understood in more than one way",
		"{first: A b c, against: A c}":                      `"A b c" can be understood in more than one way`,
		"{first: A c}":                                      `"against" is missing`,
		"{first: {board: A}, against: A c}":                 `"state" is missing`,
		"{first: X c, against: [A]}":                        "a text is wanted here, not a list",
		"[A c]":                                             "a text is wanted here, not a list",
		"{first: {board: [], state: c}, against: A c}":      "a text is wanted here, not a list",
		"{first: {board: A, state: x}, against: A c, z: 1}": `no key called "z"`,
	} {
		_, _, err := Read("x.yaml", []byte(head+text+"\n"))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, first := range []study.StateOn{{Board: "A", State: "b c"}, {Board: "A b", State: "c"}} {
		text := fmt.Sprintf("{first: {board: %s, state: %s}, against: {board: A, state: c against A c}}", first.Board, first.State)
		s, _, err := Read("x.yaml", []byte(head+text+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		out := written(t, s)
		if !strings.Contains(out, "  - "+text+"\n") {
			t.Errorf("written as\n%s", out)
		}
		again, _, err := Read("again.yaml", []byte(out))
		if err != nil || again.Comparisons[0].First != first {
			t.Errorf("%v: %v", again, err)
		}
	}
}

// TestAwkwardTexts: every character of a note comes back.
func TestAwkwardTexts(t *testing.T) {
	for _, note := range []string{"a\rb", "a\r\nb", "\x01", "\x7f", "a\u0085b", "a\u2028b", "\ufeff", "\U000e0001", "\u00ad", "😀", "tab\tin", "\\n", `"`,
		" a", "a ", "a\n", "\na", "a\n\n\nb", "a\n b", "- a\n- b", "# no comment", "a #b", "a # b", "|", ">", "%", "a:", ": a", "'", "...", "---",
		strings.Repeat("long words ", 40) + "end", strings.Repeat("x", 300), strings.Repeat("# ", 60) + "x", strings.Repeat("- ", 60) + "x",
		"word: " + strings.Repeat("word ", 40) + "x"} {
		s, _, err := Read("x.yaml", []byte("study: x\nboards: {b: {rails: {r: {nominal: 1 V, not opened: 0..1 mA}}}}\n"))
		if err != nil {
			t.Fatal(err)
		}
		s.Note, s.Boards[0].Note, s.Boards[0].Rails[0].Note = note, note, note
		text := written(t, s)
		again, _, err := Read("again.yaml", []byte(text))
		if err != nil {
			t.Errorf("%q: %v\n%s", note, err, text)
			continue
		}
		if d := cmp.Diff(s, again); d != "" {
			t.Errorf("%q: %s\n%s", note, d, text)
		}
	}
}
