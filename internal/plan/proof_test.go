package plan

import (
	"math"
	"strings"
	"testing"

	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// proven is a study with every trial, as it is recorded: a sitting before the
// rails were opened, a rail read once more with twice the turns, a known load, and
// the first rail repeated last. %-marks are replaced to make it go wrong.
const proven = `study: did the surgery change anything?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}
  meter:
    kind: meter
    ranges:
      500 mV: {digit: 0.1 mV, spec: ±(0.3 % + 2 digits)}
      5 V: {digit: 1 mV, spec: ±(0.1 % + 1 digit)}
      50 V: {digit: 10 mV, spec: ±(0.1 % + 1 digit)}
      10 A: {digit: 1 mA, spec: ±(0.3 % + 2 digits)}
boards:
  Heron:
    rails:
      core: {nominal: 1 V ±3 %, tap: clamp, loop: 60 mm AWG 18}
      aux: {nominal: 3.3 V ±5 %, tap: clamp ×5, loop: 250 mm AWG 24}
      aux again: {nominal: 3.3 V ±5 %, tap: clamp ×10, loop: 250 mm AWG 24, enters the chip: no, checks: aux}
    inputs:
      supply: {nominal: 12 V ±5 %, tap: series meter meter 10 A}
states: {idle: {}, loaded: {}}
proofs:
  - {board: Heron, rail: core, with: loaded, without: idle, resistance: 10 Ω ±1 %}
bench: {meter: meter}
sittings:
  - board: Heron
    on: 2026-05-01
    steps:
      - state: idle
        supply: {i: 0.400 A, v: 12.00 V}
  - board: Heron
    on: 2026-05-02
    steps:
      - zero: {clamp: 0.0 mV}
      - state: idle
        supply: {i: SUPPLY, v: 12.00 V}
        core: {i: 200.0 mV, v: 1.000 V}
        aux: {i: 50.0 mV, v: 3.300 V}
        aux again: {i: AGAIN, v: 3.300 V}
      - state: loaded
        core: {i: LOADED, v: 1.000 V}
        aux: {i: 50.0 mV, v: 3.300 V}
      - state: idle
        core: {i: LAST, v: 1.000 V}
      - zero: {clamp: 0.1 mV}
`

func prove(t *testing.T, with map[string]string) map[string]Proof {
	t.Helper()
	text := proven
	for _, x := range [][2]string{{"SUPPLY", "0.401 A"}, {"AGAIN", "100.0 mV"}, {"LOADED", "210.0 mV"}, {"LAST", "200.1 mV"}} {
		if v, ok := with[x[0]]; ok {
			x[1] = v
		}
		text = strings.Replace(text, x[0], x[1], 1)
	}
	s, _, err := studyfile.Read("proven.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	ta, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range ta.Findings {
		if f.Code == "rail-missing" {
			t.Errorf("the sitting before anything was opened is blamed: %+v", f)
		}
	}
	list, err := Prove(ta)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Proof{}
	for _, p := range list {
		out[p.Code] = p
	}
	return out
}

func TestProofs(t *testing.T) {
	good := prove(t, nil)
	for _, code := range []string{"surgery", "turns", "known-load", "drift"} {
		if p, ok := good[code]; !ok || !p.Holds {
			t.Errorf("%s: %+v", code, p)
		}
	}
	for _, c := range []struct{ code, key, value, says string }{
		{"surgery", "SUPPLY", "0.500 A", "more"},
		{"turns", "AGAIN", "110.0 mV", "miscounted"}, // 11 turns taken for 10
		{"known-load", "LOADED", "190.0 mV", "sign"}, // −0.1 A
		{"known-load", "LOADED", "300.0 mV", "factor of ten"},
		{"drift", "LAST", "240.0 mV", "not steady"},
	} {
		p := prove(t, map[string]string{c.key: c.value})[c.code]
		if p.Holds || !strings.Contains(p.Text, c.says) {
			t.Errorf("%s with %s: holds %v: %s", c.code, c.value, p.Holds, p.Text)
		}
	}
}

// The loops' own loss is taken off: I²R of 2 A in 60 mm of AWG 18 and 0.1 A in
// 250 mm of AWG 24, 1.257 and 21.05 mΩ by the published tables, is 5.24 mW.
func TestLoopsOwnLoss(t *testing.T) {
	p := prove(t, nil)["surgery"]
	want := 12*0.001 - (4*0.06*0.020948 + 0.01*0.25*0.084213)
	if math.Abs(p.Difference.Estimate-want) > 2e-5 {
		t.Errorf("%.6f W beyond the loops' loss, want %.6f", p.Difference.Estimate, want)
	}
}
