package tally

import (
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// A rail of −12 V that carries 0.5 A delivers 6 W; it does not take them off
// what +12 V delivers. Behind an inverting converter of 80 % it draws
// 6 W/0.8/12 V = 0.625 A from the positive rail. Bounds count likewise. (By
// conservation of energy; worked by hand.)
func TestNegativeRailDeliversPower(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "plus at 12 V", "minus at -12 V")
	bd.Rails = append(bd.Rails, &study.Rail{Name: "bias", Nominal: *b.entry("-5 V ±2 %", quantity.Volt), Bound: b.entry("0..40 mA", quantity.Ampere)})
	b.sitting("s", "one", map[string][]string{"bare": {"plus: 1.0000 V, 12.0000 V", "minus: 0.5000 V, -12.0000 V"}})
	ta := b.run()
	st := ta.State(study.StateOn{Board: "one", State: "bare"})
	near(t, "minus", st.Rail("minus").Power.Estimate, 6, 1e-9)
	near(t, "chip", st.Total.Estimate, 12+6+0.1, 1e-9)
	lo, hi := st.Rail("bias").PowerRange()
	if lo != 0 {
		t.Errorf("bias draws at least %g W, want 0", lo)
	}
	near(t, "bias at most", hi, 0.2, 1e-9)

	eta, err := quantity.Parse("(80 ± 5) %", quantity.None, "")
	if err != nil {
		t.Fatal(err)
	}
	bd.Rails[1].From = &study.Supply{Rail: "plus", Through: study.ThroughConverter, Efficiency: &eta}
	near(t, "chip, inverted from plus", b.run().total("one", "bare").Estimate, 12*(1-0.625)+6+0.1, 1e-9)
}

// Before the loop a negative rail is further from zero than at the chip.
func TestLoopDropOfANegativeRail(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "minus at -12 V")
	loop, err := quantity.ParseWire("100 mΩ")
	if err != nil {
		t.Fatal(err)
	}
	bd.Rails[0].Taps[0].Loop = &loop
	b.sitting("s", "one", map[string][]string{"bare": {"minus: 1.0000 V, -12.0000 V"}}).Steps[0].Rails[0].FeedSide = true
	st := b.run().State(study.StateOn{Board: "one", State: "bare"})
	near(t, "voltage at the chip", st.Rail("minus").Voltage.Estimate, -11.9, 1e-9)
}

// A second sitting that comes out lower is said to be lower, not "-0.2 higher".
func TestSecondSittingMayBeLower(t *testing.T) {
	b := newBench(t, "±0.001 %")
	b.board("one", "core at 1 V")
	b.sitting("s1", "one", map[string][]string{"bare": {"core: 1.20000000 V, 1.00000000 V"}})
	b.sitting("s2", "one", map[string][]string{"bare": {"core: 1.00000000 V, 1.00000000 V"}})
	ta := b.run()
	if got := ta.Sittings.Repeated[0].HowMuch().String(); !strings.HasPrefix(got, "200") || !strings.HasSuffix(got, " lower") {
		t.Errorf("got %q", got)
	}
	if f := has(ta, "sittings-disagree"); f == nil || !strings.Contains(f.Text.String(), "lower in") {
		t.Errorf("finding %+v", f)
	}
}

// The voltage of a rail that was not opened may be read; its power is then the
// bound at that voltage, 2.6 V times 0 to 40 mA.
func TestVoltageOfARailNotOpened(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "core at 1 V")
	bd.Rails = append(bd.Rails, &study.Rail{Name: "aux", Nominal: *b.entry("2.5 V", quantity.Volt), Bound: b.entry("0..40 mA", quantity.Ampere)})
	s := b.sitting("s", "one", map[string][]string{"bare": {"core: 1.0000 V, 1.0000 V"}})
	s.Steps[0].Rails = append(s.Steps[0].Rails, &study.RailReading{Rail: "aux",
		Voltage: &study.Reading{Entry: *b.entry("2.6000 V", quantity.Volt)}})
	r := b.run().State(study.StateOn{Board: "one", State: "bare"}).Rail("aux")
	near(t, "voltage", r.Voltage.Estimate, 2.6, 1e-9)
	near(t, "power", r.Power.Estimate, 2.6*0.02, 1e-9)
	if _, hi := r.PowerRange(); hi < 0.1039 || hi > 0.1041 {
		t.Errorf("at most %g W, want 2.6 V times 40 mA", hi)
	}
}

// A state read twice in one sitting is the mean; a difference that the readings
// do not explain is questioned.
func TestVisitsThatDisagree(t *testing.T) {
	for second, want := range map[string]bool{"1.0001 V": false, "1.5000 V": true} {
		b := newBench(t, "±1 %")
		b.board("one", "core at 1 V")
		s := b.sitting("s", "one", map[string][]string{"bare": {"core: 1.0000 V, 1.0000 V"}})
		again := b.sitting("t", "one", map[string][]string{"bare": {"core: " + second + ", 1.0000 V"}})
		s.Steps = append(s.Steps, again.Steps...)
		b.Sittings = b.Sittings[:1]
		if got := has(b.run(), "visits-disagree") != nil; got != want {
			t.Errorf("1 V, then %s: questioned %v", second, got)
		}
	}
}

// A rail cannot give away more than it carries: 1 A less 2 to 3 A.
func TestMoreTakenOffThanCarried(t *testing.T) {
	for draws, want := range map[string]bool{"0.2..0.3 A": false, "2..3 A": true} {
		b := newBench(t, "±1 %")
		bd := b.board("one", "core at 1 V")
		bd.Rails[0].Others = []*study.Other{{Part: "flash", Draws: *b.entry(draws, quantity.Ampere)}}
		b.sitting("s", "one", map[string][]string{"bare": {"core: 1.0000 V, 1.0000 V"}})
		if got := has(b.run(), "share-exceeds") != nil; got != want {
			t.Errorf("%s of 1 A: questioned %v", draws, got)
		}
	}
}

// Nothing can be taken through a converter from a rail of 0 V; the error says
// where that was read.
func TestConverterOnADeadRail(t *testing.T) {
	b := newBench(t, "±1 %")
	bd := b.board("one", "io at 3.3 V", "core at 1 V")
	bd.Rails[1].From = &study.Supply{Rail: "io", Through: study.ThroughConverter, Efficiency: b.entry("80..90 %", quantity.None)}
	b.sitting("evening", "one", map[string][]string{"bare": {"io: 0.1000 V, 0 V", "core: 0.1000 V, 1.0000 V"}})
	_, err := Run(b.Study, Options{})
	if err == nil || !strings.Contains(err.Error(), "evening, bare, io: the voltage is 0 V") {
		t.Errorf("error %v", err)
	}
}
