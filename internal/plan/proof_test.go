package plan

import (
	"math"
	"slices"
	"strings"
	"testing"

	"railtally/internal/study"
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
	return proveText(t, proven, with)
}

func proveText(t *testing.T, text string, with map[string]string) map[string]Proof {
	t.Helper()
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
		if p.Holds || !strings.Contains(p.Text.String(), c.says) {
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

// A sitting with all loops closed and no clamp on is what the untouched board is
// compared with; what the loops carry comes from where the rails were read.
func TestSurgeryWithLoopsClosed(t *testing.T) {
	closed := func(amps string) string {
		return strings.Replace(proven, "  - board: Heron\n    on: 2026-05-02\n", "  - board: Heron\n    name: loops closed\n    on: 2026-05-01\n    steps:\n      - state: idle\n        supply: {i: "+amps+", v: 12.00 V}\n  - board: Heron\n    on: 2026-05-02\n", 1)
	}
	// Were the later sitting compared, it would not hold: 0.5 A with the clamps on.
	for amps, holds := range map[string]bool{"0.401 A": true, "0.450 A": false} {
		p := proveText(t, closed(amps), map[string]string{"SUPPLY": "0.500 A"})["surgery"]
		if p.Holds != holds || !strings.Contains(p.What.String(), "loops closed") || !strings.Contains(p.Text.String(), "beyond the 5.2 mW") {
			t.Errorf("%s: holds %v: %s: %s", amps, p.Holds, p.What, p.Text)
		}
	}
	// Before any rail was read nobody knows what the loops carry.
	early, _, _ := strings.Cut(closed("0.400 A"), "  - board: Heron\n    on: 2026-05-02\n")
	if p := proveText(t, early, nil)["surgery"]; !p.Holds || !strings.Contains(p.Text.String(), "not off it yet") {
		t.Errorf("%+v", p)
	}
}

// Every trial that the record holds is one that the study schedules, and the
// readings that it is made of are known as such.
func TestTrialsAreTheProofs(t *testing.T) {
	s := readStudy(t, strings.NewReplacer("SUPPLY", "0.401 A", "AGAIN", "100.0 mV", "LOADED", "210.0 mV", "LAST", "200.1 mV", "bench: {", "expected: {Heron: {core: 2 A, aux: 100 mA}}\nbench: {").Replace(proven))
	s.Work = &study.Work{FirstAgain: new(true)}
	trials := Trials(s, "Heron")
	for code, p := range prove(t, nil) {
		if !slices.ContainsFunc(trials, func(x Trial) bool { return x.Judges(p) }) {
			t.Errorf("%s is scheduled by none of %+v", code, trials)
		}
	}
	for _, c := range []struct {
		sitting, state, rail string
		again                bool
		want, says           string
	}{
		{BeforeOpening, "idle", "supply", false, "surgery", "6.0 mW expected"},
		{"Heron loops closed", "idle", "supply", false, "surgery", ""},
		{"May", "idle", "supply", false, "", ""},
		{"May", "loaded", "core", false, "known-load", "must add 100 mA in loaded to what is read in idle, through one turn on clamp"},
		{"May", "idle", "core", false, "known-load", ""},
		{"May", "idle", "core", true, "known-load drift", ""},
		{"May", "idle", "aux again", false, "turns", "2 times as much"},
		{"May", "idle", "aux", false, "", ""},
	} {
		var codes, says []string
		for _, x := range TrialsAt(s, "Heron", c.sitting, c.state, c.rail, c.again) {
			codes, says = append(codes, x.Code), append(says, x.Says.String())
		}
		if strings.Join(codes, " ") != c.want || !strings.Contains(strings.Join(says, " "), c.says) {
			t.Errorf("%s, %s in %s: %v %v", c.sitting, c.rail, c.state, codes, says)
		}
	}
	// The work names the same trials, and the sitting puts the load on and off.
	var on, off int
	for _, x := range Stops(s, "Heron", "May") {
		if strings.Contains(x.Text, "put 10 Ω ±1 % across core") && slices.Contains(x.Cautions, CautionKnownLoad) {
			on++
		}
		if strings.Contains(x.Text, "take 10 Ω ±1 % off core") {
			off++
		}
	}
	if on == 0 || off == 0 {
		t.Errorf("the load is put on %d times and taken off %d times", on, off)
	}
}
