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
	if got := ta.Sittings.Repeated[0].HowMuch(); !strings.HasPrefix(got, "200") || !strings.HasSuffix(got, " lower") {
		t.Errorf("got %q", got)
	}
	if f := has(ta, "sittings-disagree"); f == nil || !strings.Contains(f.Text, "lower in") {
		t.Errorf("finding %+v", f)
	}
}
