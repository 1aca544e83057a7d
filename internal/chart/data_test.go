package chart

import (
	"fmt"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// The studies below are built in code; boards, instruments and figures are invented.

func entry(t testing.TB, text string, u quantity.Unit) quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func reading(t testing.TB, text string, u quantity.Unit) study.Reading {
	t.Helper()
	return study.Reading{Entry: entry(t, text, u)}
}

func spec(t testing.TB, text string, u quantity.Unit) *quantity.Spec {
	t.Helper()
	s, err := quantity.ParseSpec(text, u)
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

// bench returns the instruments: a clamp of 10 A/V, a meter for volts, a meter for amperes.
func bench(t testing.TB) []*study.Instrument {
	t.Helper()
	return []*study.Instrument{
		{Name: "red clamp", Kind: study.Clamp, Ranges: []*study.Range{{
			Name: "low", Scale: 10, Measures: quantity.Ampere, Spec: spec(t, "±(1.5 % + 10 mA)", quantity.Ampere)}}},
		{Name: "desk meter", Kind: study.Meter, Ranges: []*study.Range{{
			Name: "5 V", Measures: quantity.Volt, Spec: spec(t, "±(0.3 % + 2 mV)", quantity.Volt)}, {
			Name: "10 A", Measures: quantity.Ampere, Spec: spec(t, "±(1 % + 3 mA)", quantity.Ampere)}}},
	}
}

// railIs describes a rail and what was read of it in each state: a current as
// the tap's meter shows it; "" when it was not read.
type railIs struct {
	name, nominal string
	tap           study.TapKind
	turns         int
	ohms          string
	bound         string
	from          *study.Supply
	aside         bool
	read          []string
}

func (r railIs) rail(t testing.TB) *study.Rail {
	t.Helper()
	out := &study.Rail{Name: r.name, Nominal: entry(t, r.nominal+" ±5 %", quantity.Volt), From: r.from, Aside: r.aside}
	if r.bound != "" {
		b := entry(t, r.bound, quantity.Ampere)
		out.Bound = &b
		return out
	}
	tap := &study.Tap{Kind: r.tap, Turns: max(1, r.turns)}
	switch r.tap {
	case study.TapClamp:
		tap.Instrument, tap.Range, out.Feed = "red clamp", "low", study.InductorLeg
	case study.TapSeries:
		tap.Instrument, tap.Range, out.Feed = "desk meter", "10 A", study.Wire
	default:
		tap.Resistor, out.Feed = &study.ShuntValue{Resistance: entry(t, r.ohms, quantity.Ohm)}, study.ZeroOhmLink
	}
	out.Taps = []*study.Tap{tap}
	return out
}

// build makes a study of boards with the same rails and states.
func build(t testing.TB, boards, states []string, rails []railIs, scale func(board int, text string) string) *study.Study {
	t.Helper()
	s := &study.Study{Question: "Does the backplane chip need its fan?", Level: 0.95, Instruments: bench(t)}
	for _, n := range states {
		s.States = append(s.States, &study.State{Name: n})
	}
	for i, name := range boards {
		b := &study.Board{Name: name, Chip: "backplane bridge"}
		for _, r := range rails {
			b.Rails = append(b.Rails, r.rail(t))
		}
		s.Boards = append(s.Boards, b)
		sit := &study.Sitting{Name: name + " evening", Board: name, VoltageMeter: "desk meter", CurrentMeter: "desk meter"}
		for j, st := range states {
			step := &study.Step{State: st}
			for k, r := range rails {
				if r.bound != "" || r.read[j] == "" {
					continue
				}
				u := quantity.Volt
				if r.tap == study.TapSeries {
					u = quantity.Ampere
				}
				rd := reading(t, scale(i, r.read[j]), u)
				v := reading(t, r.nominal, quantity.Volt)
				v.Range = "5 V"
				if r.tap != study.TapSeries {
					rd.Range = "5 V"
				}
				step.Rails = append(step.Rails, &study.RailReading{
					Rail: b.Rails[k].Name, Current: []*study.TapReading{{Reading: rd}}, Voltage: &v,
				})
			}
			sit.Steps = append(sit.Steps, step)
		}
		s.Sittings = append(s.Sittings, sit)
	}
	return s
}

func run(t testing.TB, s *study.Study) *tally.Tally {
	t.Helper()
	out, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func as(_ int, text string) string { return text }

// evening is two boards, four states, six rails, one of them bounded, one
// hanging on another, one missing in one state.
func evening(t testing.TB) *tally.Tally {
	t.Helper()
	rails := []railIs{
		{name: "core", nominal: "0.95 V", tap: study.TapClamp, read: []string{"398 mV", "421 mV", "442 mV", "530 mV"}},
		{name: "link", nominal: "1.5 V", tap: study.TapClamp, read: []string{"118.4 mV", "122.0 mV", "131 mV", "171 mV"}},
		{name: "pll a", nominal: "2.5 V", tap: study.TapClamp, turns: 5, read: []string{"36..43 mV", "38..43 mV", "39..44 mV", "41..46 mV"}},
		{name: "io a", nominal: "3.3 V", tap: study.TapShunt, ohms: "100 mΩ ±1 %", read: []string{"30.2 mV", "33.9 mV", "41.1 mV", ""}},
		{name: "aux", nominal: "1.2 V", tap: study.TapSeries, from: &study.Supply{Rail: "io a", Through: study.ThroughLinear}, read: []string{"101 mA", "103 mA", "108 mA", "115 mA"}},
		{name: "io b", nominal: "3.3 V", bound: "0..25 mA"},
	}
	s := build(t, []string{"Otter", "Marten"}, []string{"bare", "one-idle", "one-busy", "four-busy"}, rails,
		func(board int, text string) string {
			if board == 1 {
				return marten[text]
			}
			return text
		})
	m := entry(t, "0.5 W", quantity.Watt)
	s.EqualWithin = &m
	// The first state of the second board has the missing rail too; its last state was not measured.
	s.Sittings[1].Steps = s.Sittings[1].Steps[:3]
	on := func(b, st string) study.StateOn { return study.StateOn{Board: b, State: st} }
	s.Comparisons = []study.Comparison{
		{First: on("Otter", "one-busy"), Second: on("Otter", "one-idle")},
		{First: on("Otter", "one-idle"), Second: on("Otter", "bare")},
		{First: on("Otter", "one-busy"), Second: on("Marten", "one-busy")},
		{First: on("Otter", "bare"), Second: on("Marten", "bare")},
	}
	return run(t, s)
}

// varied is two boards in five states of two factors, everything read.
func varied(t testing.TB) *tally.Tally {
	t.Helper()
	s := build(t, []string{"Otter", "Marten"}, []string{"bare", "one-idle", "one-busy", "four-idle", "four-busy"}, []railIs{
		{name: "core", nominal: "0.95 V", tap: study.TapClamp, read: []string{"398 mV", "421 mV", "442 mV", "498 mV", "521 mV"}},
		{name: "link", nominal: "1.5 V", tap: study.TapClamp, read: []string{"118.4 mV", "122.0 mV", "131 mV", "140.2 mV", "149.8 mV"}},
		{name: "pll", nominal: "2.5 V", bound: "0..25 mA"},
	}, func(board int, text string) string {
		if board == 1 && text == "521 mV" {
			return "566 mV"
		}
		return text
	})
	s.Factors = []*study.Factor{{Name: "drives", Levels: []string{"0", "1", "4"}}, {Name: "load", Levels: []string{"none", "copy"}}}
	for i, l := range [][2]string{{"0", "none"}, {"1", "none"}, {"1", "copy"}, {"4", "none"}, {"4", "copy"}} {
		s.States[i].Levels = []study.Level{{Factor: "drives", Value: l[0]}, {Factor: "load", Value: l[1]}}
	}
	m := entry(t, "0.05 W", quantity.Watt)
	s.EqualWithin = &m
	return run(t, s)
}

// marten gives the second board's readings for the first one's.
var marten = map[string]string{
	"398 mV": "401 mV", "421 mV": "437 mV", "442 mV": "503 mV", "530 mV": "566 mV",
	"118.4 mV": "117.0 mV", "122.0 mV": "125.1 mV", "131 mV": "140 mV", "171 mV": "182 mV",
	"36..43 mV": "30..33 mV", "38..43 mV": "31..33 mV", "39..44 mV": "31..34 mV", "41..46 mV": "33..35 mV",
	"30.2 mV": "29.9 mV", "33.9 mV": "34.0 mV", "41.1 mV": "40.2 mV", "": "",
	"101 mA": "99 mA", "103 mA": "101 mA", "108 mA": "105 mA", "115 mA": "110 mA",
}

// single is one board with one rail in one state.
func single(t testing.TB) *tally.Tally {
	t.Helper()
	return run(t, build(t, []string{"Stoat"}, []string{"busy"}, []railIs{
		{name: "core", nominal: "0.9 V", tap: study.TapInductor, ohms: "1.2 mΩ ±8 %", read: []string{"4.1 mV"}},
	}, as))
}

// dozen is one board with twelve rails in two states.
func dozen(t testing.TB) *tally.Tally {
	t.Helper()
	kinds := []study.TapKind{study.TapClamp, study.TapShunt, study.TapSense, study.TapInductor, study.TapSeries}
	reads := []string{"410 mV", "88 mV", "8.1 mV", "3.2 mV", "120 mA", "31 mV", "51 mV", "2.2 mV", "0.4 mV", "18 mA", "12 mV", "9 mV"}
	volts := []string{"0.85 V", "1.8 V", "1.2 V", "1.35 V", "3.3 V", "1.0 V", "1.5 V", "1.8 V", "2.5 V", "3.3 V", "1.1 V", "1.2 V"}
	var rails []railIs
	for i, r := range reads {
		ri := railIs{name: fmt.Sprintf("rail %c", 'a'+i), nominal: volts[i], tap: kinds[i%5], turns: 1 + i/5*2, ohms: "100 mΩ ±1 %", read: []string{r, r}}
		if ri.tap == study.TapInductor {
			ri.ohms = "3 mΩ ±8 %"
		}
		if i == 11 {
			ri = railIs{name: "rail l", nominal: "3.3 V", bound: "0..40 mA"}
		}
		rails = append(rails, ri)
	}
	return run(t, build(t, []string{"Otter"}, []string{"idle", "busy"}, rails, as))
}

// awkward has very long names, a rail at zero and one that runs backwards.
func awkward(t testing.TB) *tally.Tally {
	t.Helper()
	long := "the rail that feeds the second half of the analogue front end, as far as anybody knows"
	return run(t, build(t, []string{"A board with a name that nobody would write on its label", "Otter"},
		[]string{"everything attached, nothing running, lid closed, fan at half speed", "off"},
		[]railIs{
			{name: long, nominal: "0.95 V", tap: study.TapClamp, read: []string{"402 mV", "0 mV"}},
			{name: "zero", nominal: "1.8 V", tap: study.TapClamp, read: []string{"0 mV", "0 mV"}},
			{name: "backwards", nominal: "3.3 V", tap: study.TapSeries, read: []string{"-85 mA", "-85 mA"}},
		}, as))
}

// empty is a study in which nothing was measured.
func empty(t testing.TB) *tally.Tally {
	t.Helper()
	return run(t, &study.Study{Question: "What will it draw?", Level: 0.95})
}
