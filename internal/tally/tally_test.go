package tally

import (
	"math"
	"strings"
	"testing"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// bench builds studies in code: each rail reads 1 V per ampere, so that a
// reading in volts is a current in amperes.
type bench struct {
	t testing.TB
	*study.Study
}

func newBench(t testing.TB, clampSpec string) *bench {
	b := &bench{t, &study.Study{Question: "q", Level: 0.95}}
	sp, err := quantity.ParseSpec(clampSpec, quantity.Ampere)
	if err != nil {
		t.Fatal(err)
	}
	b.Instruments = []*study.Instrument{
		{Name: "clamp", Kind: study.Clamp, Ranges: []*study.Range{{Name: "", Scale: 1, Measures: quantity.Ampere, Spec: &sp, To: b.entry("20 A", quantity.Ampere)}}},
		{Name: "meter", Kind: study.Meter, Ranges: []*study.Range{{Name: "all", Measures: quantity.Volt, To: b.entry("100 V", quantity.Volt)}}},
	}
	b.state("bare")
	return b
}

func (b *bench) entry(text string, u quantity.Unit) *quantity.Entry {
	b.t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		b.t.Fatal(err)
	}
	return &e
}

func (b *bench) state(name string) { b.States = append(b.States, &study.State{Name: name}) }

// board adds a board with one rail for each nominal voltage.
func (b *bench) board(name string, rails ...string) *study.Board {
	bd := &study.Board{Name: name}
	for _, r := range rails {
		n, v, _ := strings.Cut(r, " at ")
		bd.Rails = append(bd.Rails, &study.Rail{Name: n, Nominal: *b.entry(v+" ±20 %", quantity.Volt), Feed: study.Bead,
			Taps: []*study.Tap{{Kind: study.TapClamp, Instrument: "clamp", Turns: 1}}})
	}
	b.Boards = append(b.Boards, bd)
	return bd
}

// sitting adds a sitting of a board with one step a state; each reading is
// "rail: current, voltage".
func (b *bench) sitting(name, board string, steps map[string][]string) *study.Sitting {
	s := &study.Sitting{Name: name, Board: board, VoltageMeter: "meter", CurrentMeter: "meter",
		On: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)}
	for _, st := range b.States {
		readings, ok := steps[st.Name]
		if !ok {
			continue
		}
		step := &study.Step{State: st.Name}
		for _, r := range readings {
			rail, rest, _ := strings.Cut(r, ": ")
			i, v, _ := strings.Cut(rest, ", ")
			step.Rails = append(step.Rails, &study.RailReading{Rail: rail,
				Current: []*study.TapReading{{Reading: study.Reading{Entry: *b.entry(i, quantity.Volt)}}},
				Voltage: &study.Reading{Entry: *b.entry(v, quantity.Volt)}})
		}
		s.Steps = append(s.Steps, step)
	}
	b.Sittings = append(b.Sittings, s)
	return s
}

func (b *bench) run() *Tally {
	b.t.Helper()
	if faults := study.Check(b.Study); len(faults) > 0 {
		b.t.Fatalf("the test's study has faults: %v", faults)
	}
	ta, err := Run(b.Study, Options{})
	if err != nil {
		b.t.Fatal(err)
	}
	return ta
}

func (t *Tally) total(board, state string) Figure {
	return t.State(study.StateOn{Board: board, State: state}).Total
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want) || math.IsNaN(got) {
		t.Errorf("%s = %.9g, want %.9g (within %g)", what, got, want, rel)
	}
}

func has(t *Tally, code string) *sensing.Finding {
	for i := range t.Findings {
		if t.Findings[i].Code == code {
			return &t.Findings[i]
		}
	}
	return nil
}

// Cases E9 and E10 of ../sensing/testdata/instrument-errors.json (recomputed
// there apart from this program): four rails through one clamp of ±(2 % +
// 3 mA). The gain is common to all rails and adds linearly, the 3 mA that hold
// after zeroing belong to each mounting and add in quadrature; between two
// boards the gain cancels but for the part in their difference.
func TestGainAddsOverRailsAndCancelsBetweenBoards(t *testing.T) {
	b := newBench(t, "±(2 % + 3 mA after zero)")
	rails := []string{"a at 1.0 V", "b at 1.8 V", "c at 3.3 V", "d at 12 V"}
	b.board("one", rails...)
	b.board("two", rails...)
	b.sitting("s1", "one", map[string][]string{"bare": {
		"a: 2.00000000 V, 1.00000000 V", "b: 0.50000000 V, 1.80000000 V", "c: 0.30000000 V, 3.30000000 V", "d: 0.02000000 V, 12.0000000 V"}})
	b.sitting("s2", "two", map[string][]string{"bare": {
		"a: 1.66000000 V, 1.00000000 V", "b: 0.50000000 V, 1.80000000 V", "c: 0.30000000 V, 3.30000000 V", "d: 0.02000000 V, 12.0000000 V"}})
	ta := b.run()
	one, two := ta.total("one", "bare"), ta.total("two", "bare")
	near(t, "P of one", one.Estimate, 4.13, 1e-9)
	near(t, "u of one", one.U, 0.05245611, 1e-6)
	near(t, "P of two", two.Estimate, 3.79, 1e-9)
	d, err := ta.Compare(ta.State(study.StateOn{Board: "one", State: "bare"}), ta.State(study.StateOn{Board: "two", State: "bare"}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", d.Difference.Estimate, 0.34, 1e-9)
	near(t, "u of the difference", d.Difference.U, 0.03114793, 1e-6)
	near(t, "ratio", d.Ratio.Estimate, 1.08971, 1e-5)
	near(t, "u of the ratio", d.Ratio.U, 0.00852645, 1e-5)
	if d.Verdict != Resolved {
		t.Errorf("verdict %q, want resolved", d.Verdict)
	}
	// Closed forms: gain alone is p·ΣP/√3, and p·|ΔP|/√3 of the difference.
	causes, err := ta.Graph.BudgetBy(one.Value, sensing.TagCause)
	if err != nil {
		t.Fatal(err)
	}
	if causes[0].Name != sensing.CauseClampSpec {
		t.Errorf("largest cause %q", causes[0].Name)
	}
}

// A rail that hangs on another is not counted twice. Example of the trade: a
// 1.8 V rail carries 0.7 A, of which 0.2 A go to a 1.2 V linear regulator:
// delivered to the chip are 1.8·0.5 + 1.2·0.2 = 1.140 W, not 1.500 W.
func TestRailTreeCountsNothingTwice(t *testing.T) {
	hang := func(f func(*study.Supply)) (parent, total float64) {
		b := newBench(t, "±1 %")
		bd := b.board("one", "io at 1.8 V", "ldo at 1.2 V")
		bd.Rails[1].From = &study.Supply{Rail: "io", Through: study.ThroughLinear}
		if f != nil {
			f(bd.Rails[1].From)
		}
		b.sitting("s", "one", map[string][]string{"bare": {"io: 0.7000 V, 1.8000 V", "ldo: 0.2000 V, 1.2000 V"}})
		ta := b.run()
		return ta.State(study.StateOn{Board: "one", State: "bare"}).Rail("io").Power.Estimate, ta.total("one", "bare").Estimate
	}
	p, total := hang(nil)
	near(t, "io", p, 0.9, 1e-9)
	near(t, "chip", total, 1.140, 1e-9)
	p, _ = hang(func(s *study.Supply) {
		own, err := quantity.Parse("10 ± 1 mA", quantity.Ampere, "")
		if err != nil {
			t.Fatal(err)
		}
		s.Own = &own
	})
	near(t, "io less the regulator's own", p, 1.8*0.49, 1e-9)
	// Through a converter of 80 %: 0.24 W/0.8 = 0.3 W are taken from io.
	_, total = hang(func(s *study.Supply) {
		eta, err := quantity.Parse("(80 ± 5) %", quantity.None, "")
		if err != nil {
			t.Fatal(err)
		}
		s.Through, s.Efficiency = study.ThroughConverter, &eta
	})
	near(t, "chip behind a converter", total, 1.26-0.3+0.24, 1e-9)
	_, total = hang(func(s *study.Supply) { s.Through = study.ThroughWire })
	near(t, "chip behind a link", total, 1.8*0.5+0.24, 1e-9)
}

func TestPhasesOthersAsideAndBounds(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "core at 1 V", "io at 3.3 V", "flash at 3.3 V")
	bd.Rails[0].Taps = []*study.Tap{
		{Name: "left", Kind: study.TapClamp, Instrument: "clamp", Turns: 1},
		{Name: "right", Kind: study.TapClamp, Instrument: "clamp", Turns: 1},
	}
	bd.Rails[1].Others = []*study.Other{{Part: "LED", Draws: *b.entry("5..15 mA", quantity.Ampere)}}
	bd.Rails[2].From = &study.Supply{Rail: "io", Through: study.ThroughWire}
	bd.Rails[2].Aside = true
	bd.Rails = append(bd.Rails, &study.Rail{Name: "aux", Nominal: *b.entry("2.5 V", quantity.Volt), Bound: b.entry("0..40 mA", quantity.Ampere)})
	s := b.sitting("s", "one", map[string][]string{"bare": {"io: 0.1000 V, 3.3000 V", "flash: 0.0200 V, 3.3000 V"}})
	s.Steps[0].Rails = append(s.Steps[0].Rails, &study.RailReading{Rail: "core",
		Current: []*study.TapReading{
			{Tap: "left", Reading: study.Reading{Entry: *b.entry("1.5000 V", quantity.Volt)}},
			{Tap: "right", Reading: study.Reading{Entry: *b.entry("1.7000 V", quantity.Volt)}},
		},
		Voltage: &study.Reading{Entry: *b.entry("1.0000 V", quantity.Volt)}})
	ta := b.run()
	st := ta.State(study.StateOn{Board: "one", State: "bare"})
	near(t, "core", st.Rail("core").Power.Estimate, 3.2, 1e-9)
	near(t, "io", st.Rail("io").Power.Estimate, 3.3*(0.1-0.02-0.01), 1e-9)
	near(t, "aux", st.Rail("aux").Power.Estimate, 2.5*0.02, 1e-9)
	near(t, "aux's uncertainty", st.Rail("aux").Power.U, math.Hypot(2.5*0.04/math.Sqrt(12), 0.02*0.125/math.Sqrt(3)), 1e-3)
	near(t, "chip", st.Total.Estimate, 3.2+3.3*0.07+0.05, 1e-9)
	lo, hi := st.Rail("aux").PowerRange()
	near(t, "aux at least", lo+1, 1, 1e-12)
	near(t, "aux at most", hi, 0.1, 1e-9)
}

// One phase of two is not the rail's current, and is never taken for it.
func TestPhaseNotRead(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "core at 1 V")
	bd.Rails[0].Taps = []*study.Tap{
		{Name: "left", Kind: study.TapClamp, Instrument: "clamp", Turns: 1},
		{Name: "right", Kind: study.TapClamp, Instrument: "clamp", Turns: 1},
	}
	s := b.sitting("s", "one", map[string][]string{"bare": {}})
	s.Steps[0].Rails = append(s.Steps[0].Rails, &study.RailReading{Rail: "core",
		Current: []*study.TapReading{{Tap: "left", Reading: study.Reading{Entry: *b.entry("1.5000 V", quantity.Volt)}}},
		Voltage: &study.Reading{Entry: *b.entry("1.0000 V", quantity.Volt)}})
	ta := b.run()
	st := ta.State(study.StateOn{Board: "one", State: "bare"})
	if st.Complete || has(ta, "rail-missing") == nil {
		t.Errorf("a rail with one phase of two read counts as read: %v", st.Total)
	}
}

func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		d, u, margin float64
		want         Verdict
	}{
		{0.31, 0.09, 0, Resolved},
		{-0.31, 0.09, 0.5, Resolved}, // resolved, and within the margin besides
		{0.1, 0.2, 0.5, Equal},
		{0.1, 0.2, 0, NotResolved},
		{0.4, 0.5, 0.5, NotResolved},
		{0, 0, 0.5, Equal},
		{0, 0, 0, NotResolved},
	} {
		if got := Judge(Figure{Estimate: c.d, Expanded: c.u}, c.margin); got != c.want {
			t.Errorf("%g ± %g, δ %g: %q, want %q", c.d, c.u, c.margin, got, c.want)
		}
	}
}

// The same state in two sittings, 0.2 W apart, with readings that explain
// almost nothing: one degree of freedom, SD = 0.2/√2 (JCGM 100 H.5 with one
// observation a day).
func TestSittingEffect(t *testing.T) {
	b := newBench(t, "±0.001 %")
	b.board("one", "core at 1 V")
	b.state("busy")
	b.sitting("s1", "one", map[string][]string{"bare": {"core: 1.00000000 V, 1.00000000 V"}, "busy": {"core: 2.00000000 V, 1.00000000 V"}})
	b.sitting("s2", "one", map[string][]string{"bare": {"core: 1.20000000 V, 1.00000000 V"}})
	ta := b.run()
	near(t, "SD", ta.Sittings.SD, 0.2/math.Sqrt2, 1e-6)
	near(t, "DOF", ta.Sittings.DOF, 1, 0)
	bare, busy := ta.total("one", "bare"), ta.total("one", "busy")
	near(t, "mean", bare.Estimate, 1.1, 1e-12)
	near(t, "u of two sittings", bare.U, 0.2/math.Sqrt2/math.Sqrt2, 1e-6)
	near(t, "u of one sitting", busy.U, 0.2/math.Sqrt2, 1e-6)
	near(t, "k for one degree of freedom", busy.K, 12.7062, 1e-4) // JCGM 100 Table G.2
	if f := has(ta, "sittings-disagree"); f == nil {
		t.Error("sittings that disagree are not questioned")
	}
	// Within the sitting that has both, the effect cancels.
	x, err := ta.Compare(ta.State(study.StateOn{Board: "one", State: "busy"}), ta.State(study.StateOn{Board: "one", State: "bare"}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", x.Difference.Estimate, 1, 1e-9)
	if x.Difference.U > 1e-4 || len(x.Within) != 1 || x.Within[0] != "s1" {
		t.Errorf("difference ± %g within %v, want it taken within s1", x.Difference.U, x.Within)
	}
}

func TestNotAssessedIsSaid(t *testing.T) {
	b := newBench(t, "±1 %")
	b.board("one", "core at 1 V")
	b.board("two", "core at 1 V")
	b.sitting("s1", "one", map[string][]string{"bare": {"core: 1.000 V, 1.000 V"}})
	b.sitting("s2", "two", map[string][]string{"bare": {"core: 1.000 V, 1.000 V"}})
	ta := b.run()
	if ta.Sittings.Assessed || has(ta, "sittings-not-assessed") == nil {
		t.Error("an effect that is not assessed is not said to be")
	}
}

func TestPlausibility(t *testing.T) {
	b := newBench(t, "±1 %")
	b.board("one", "core at 1 V", "io at 3.3 V")
	for _, s := range []string{"idle", "busy", "slip", "gap"} {
		b.state(s)
	}
	b.sitting("s", "one", map[string][]string{
		"bare": {"core: 1.000 V, 1.000 V", "io: 0.100 V, 3.300 V"},
		"idle": {"core: 1.100 V, 1.000 V", "io: 0.101 V, 3.300 V"},
		"busy": {"core: 1.0..1.5 V, 1.000 V", "io: 0.102 V, 3.300 V"},
		"slip": {"core: 1.200 V, 1.000 V", "io: 1.020 V, 3.300 V"},
		"gap":  {"core: 1.200 V, 1.000 V"},
	})
	ta := b.run()
	for code, state := range map[string]string{"rail-missing": "gap", "scale-slip": "slip", "band-wide": "busy"} {
		f := has(ta, code)
		switch {
		case f == nil:
			t.Errorf("no finding %q in %v", code, ta.Findings)
		case len(f.States) != 1 || f.States[0] != state:
			t.Errorf("%s found in %v, want %s", code, f.States, state)
		case !strings.HasSuffix(f.Text.String(), ".") || !strings.HasSuffix(f.Do.String(), "."):
			t.Errorf("%s is no sentence: %q %q", code, f.Text, f.Do)
		}
	}
	gap := ta.State(study.StateOn{Board: "one", State: "gap"})
	if gap.Complete || len(gap.Missing) != 1 || gap.Missing[0] != "io" {
		t.Errorf("a state without io is complete (%v) or misses %v", gap.Complete, gap.Missing)
	}
	if _, err := ta.Compare(gap, gap); err == nil {
		t.Error("an incomplete state is compared")
	}
	// Worst first.
	if ta.Findings[0].Severity != sensing.Wrong {
		t.Errorf("first finding is %s", ta.Findings[0].Severity)
	}
}

func TestSlip(t *testing.T) {
	for _, c := range []struct {
		x      float64
		others []float64
		turns  int
		want   string
	}{
		{1, []float64{0.1, 0.11}, 1, "10 times"},
		{0.001, []float64{0.1, 0.11}, 1, "1/100 of"},
		{0.5, []float64{0.1, 0.1, 0.1}, 5, "5 times"},
		{0.5, []float64{0.1, 0.1, 0.1}, 1, ""},
		{1, []float64{0.1}, 1, ""},
		{1, []float64{0.1, 0.5}, 1, ""}, // the others disagree themselves
	} {
		if got := slip(c.x, c.others, c.turns).String(); got != c.want {
			t.Errorf("slip(%g, %v, %d) = %q, want %q", c.x, c.others, c.turns, got, c.want)
		}
	}
}

func TestLevelOutOfRangeIsRefused(t *testing.T) {
	b := newBench(t, "±1 %")
	for _, level := range []float64{-1, 1, 2, math.NaN()} {
		if _, err := Run(b.Study, Options{Level: level}); err == nil {
			t.Errorf("level %g accepted", level)
		}
	}
}

func TestEmptyStudyHasNothingToSay(t *testing.T) {
	b := newBench(t, "±1 %")
	ta, err := Run(b.Study, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if a := ta.Answer(); len(a) != 1 || !strings.Contains(a[0].String(), "Nothing has been measured") {
		t.Errorf("answer %q", a)
	}
}

// BenchmarkLargeTally: 2 boards × 40 states × 12 rails × 10 repeats.
func BenchmarkLargeTally(b *testing.B) {
	s := largeStudy(b)
	b.ResetTimer()
	for b.Loop() {
		if _, err := Run(s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func largeStudy(tb testing.TB) *study.Study {
	b := newBench(tb, "±(1 % + 3 mA)")
	sp, err := quantity.ParseSpec("±(0.1 % + 2 mV)", quantity.Volt)
	if err != nil {
		tb.Fatal(err)
	}
	b.Instruments[1].Ranges[0].Spec = &sp
	b.States = nil
	rails := []string{}
	for _, n := range strings.Fields("a b c d e f g h i j k l") {
		rails = append(rails, n+" at 1 V")
	}
	for _, board := range []string{"one", "two"} {
		b.board(board, rails...)
	}
	steps := map[string][]string{}
	for s := range 40 {
		name := string(rune('A'+s/26)) + string(rune('a'+s%26))
		b.state(name)
		for i, r := range rails {
			values := make([]string, 10)
			for k := range values {
				values[k] = quantity.Format(1+0.01*float64(s)+0.1*float64(i)+0.001*float64(k*k%7), quantity.None, 6)
			}
			steps[name] = append(steps[name], strings.TrimSuffix(r, " at 1 V")+": "+strings.Join(values, " ")+" V, 1.000 V")
		}
	}
	b.sitting("s1", "one", steps)
	b.sitting("s2", "two", steps)
	return b.Study
}
