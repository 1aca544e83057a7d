package tally

import (
	"fmt"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// withInput is a board of three rails behind an input of 12 V, read in two
// states; amps are the input's currents in them.
func withInput(t *testing.T, amps [2]float64, efficiency string, feeds ...string) *Tally {
	b := newBench(t, "±0.1 %")
	b.state("busy")
	bd := b.board("one", "core at 1 V", "mem at 1.8 V", "io at 3.3 V")
	in := &study.Rail{Name: "slot", Nominal: *b.entry("12 V", quantity.Volt), Feeds: feeds,
		Taps: []*study.Tap{{Kind: study.TapClamp, Instrument: "clamp", Turns: 1}}}
	if efficiency != "" {
		in.Efficiency = b.entry(efficiency, quantity.None)
	}
	bd.Inputs = []*study.Rail{in}
	read := func(core, slot float64) []string {
		return []string{fmt.Sprintf("core: %.7f V, 1.0000000 V", core), "mem: 0.5000000 V, 1.8000000 V", "io: 0.3000000 V, 3.3000000 V",
			fmt.Sprintf("slot: %.7f V, 12.0000000 V", slot)}
	}
	b.sitting("s", "one", map[string][]string{"bare": read(2, amps[0]), "busy": read(3, amps[1])})
	return b.run()
}

// Three rails of 1.0 V 2 A, 1.8 V 0.5 A and 3.3 V 0.3 A through converters of
// 88, 90 and 92 % take 2.273 + 1.000 + 1.076 = 4.349 W for the 3.890 W that they
// deliver (recomputed by hand: 2/0.88, 0.9/0.90, 0.99/0.92).
func TestEfficiencyImplied(t *testing.T) {
	in := 2/0.88 + 0.9/0.90 + 0.99/0.92
	ta := withInput(t, [2]float64{in / 12, (in + 1/0.88) / 12}, "80..92 %")
	u := ta.Upstream[0]
	near(t, "in", u.In.Estimate, 4.349, 2e-4)
	near(t, "out", u.Out.Estimate, 3.890, 1e-6)
	near(t, "efficiency", u.Efficiency.Estimate, 3.890/in, 1e-6)
	near(t, "remainder", u.Remainder.Estimate, in-3.890, 1e-5)
	if !u.Fault().IsZero() || has(ta, "input-disagrees") != nil {
		t.Errorf("a sound input is questioned: %s", u.Sentence())
	}
	// The clamp's gain is common to input and rails, so the efficiency does not
	// know it at all.
	causes, err := ta.Graph.BudgetBy(u.Efficiency.Value, sensing.TagCause)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range causes {
		if c.Name == sensing.CauseClampSpec && c.U > 1e-9 {
			t.Errorf("the clamp's gain makes %g of the efficiency", c.U)
		}
	}
	// From one state to the other 1 W more is delivered through 88 %.
	c := ta.Changes[0]
	near(t, "change", c.Ratio.Estimate, 0.88, 1e-5)
	if c.From.On.State != "bare" || c.To.On.State != "busy" {
		t.Errorf("from %s to %s", c.From.On, c.To.On)
	}
}

func TestInputThatDisagrees(t *testing.T) {
	for _, c := range []struct {
		amps       [2]float64
		efficiency string
		feeds      []string
		code, says string
		severity   sensing.Severity
	}{
		{[2]float64{0.30, 0.40}, "", nil, "input-disagrees", "more comes out than went in", sensing.Wrong},
		{[2]float64{0.60, 0.70}, "80..92 %", nil, "input-disagrees", "less than the 80.0 % to 92.0 % expected", sensing.Doubtful},
		{[2]float64{0.60, 0.70}, "0.5 ± 0.05", nil, "input-disagrees", "more than the 45.0 % to 55.0 % expected", sensing.Doubtful},
		{[2]float64{0.40, 0.45}, "", nil, "input-change-disagrees", "the rails rise by", sensing.Wrong},
		{[2]float64{0.15, 0.25}, "", []string{"core"}, "input-disagrees", "more comes out", sensing.Wrong},
	} {
		ta := withInput(t, c.amps, c.efficiency, c.feeds...)
		f := has(ta, c.code)
		if f == nil || f.Severity != c.severity || !strings.Contains(f.Text.String(), c.says) {
			t.Errorf("%v: findings %+v, want %s saying %q", c, ta.Findings, c.code, c.says)
		}
	}
	sound := withInput(t, [2]float64{0.2, 0.3}, "", "core")
	if u := sound.Upstream[0]; len(sound.Upstream) != 2 || strings.Join(u.Rails, " ") != "core" || has(sound, "input-disagrees") != nil {
		t.Errorf("%s, findings %v", u.Sentence(), sound.Findings)
	}
}

// A rail that hangs on another cannot draw more than it, and a rail that only
// feeds others should have nothing left over.
func TestTreeOfRails(t *testing.T) {
	for _, c := range []struct {
		parent string
		aside  bool
		want   string
	}{
		{"0.2000000 V", false, ""}, {"0.1000000 V", false, "tree-negative"}, {"0.2000000 V", true, ""}, {"0.3000000 V", true, "tree-remainder"},
	} {
		b := newBench(t, "±1 %")
		bd := b.board("one", "io at 3.3 V", "aux at 3.3 V")
		bd.Rails[1].From = &study.Supply{Rail: "io", Through: study.ThroughWire}
		bd.Rails[0].Aside = c.aside
		b.sitting("s", "one", map[string][]string{"bare": {"io: " + c.parent + ", 3.3 V", "aux: 0.2000000 V, 3.3 V"}})
		ta := b.run()
		for _, code := range []string{"tree-negative", "tree-remainder"} {
			if f := has(ta, code); (f != nil) != (code == c.want) {
				t.Errorf("parent %s, aside %v: %s: %v", c.parent, c.aside, code, f)
			}
		}
	}
}

// 1.0 V behind 20 mΩ, with a current that alternates between 1 and 9 A half of
// the time each: the true mean is 4.180 W and the product of the means 4.500 W,
// 0.320 W too high (computed by hand: (1·0.98 + 9·0.82)/2 and 5·0.90). The bound
// found from the flicker and from ΔV/ΔI of two states reaches just so far.
func TestBurstLoadIsBounded(t *testing.T) {
	b := newBench(t, "±0.0001 %")
	b.state("busy")
	b.state("steady")
	b.board("one", "core at 1 V")
	b.sitting("s", "one", map[string][]string{
		"bare":   {"core: 1.0000000 V, 0.9800000 V"},
		"busy":   {"core: 1.0000000..9.0000000 V, 0.9000000 V"},
		"steady": {"core: 9.0000000 V, 0.8200000 V"},
	})
	ta := b.run()
	rt := ta.State(study.StateOn{Board: "one", State: "busy"}).Taken[0].Rails[0]
	if !rt.Burst.Valid() {
		t.Fatal("the bound is missing")
	}
	shares, err := ta.Graph.BudgetBy(rt.Power, sensing.TagCause)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, s := range shares {
		if s.Name == sensing.CauseBurst {
			found = true
		}
	}
	p := 5*0.9 - 4.180
	top := 2 * rt.Burst.Estimate() // of a rectangle that begins at zero
	if !found || !scalar.EqualWithinRel(top, p, 1e-4) {
		t.Errorf("bound %.4f W, the error is %.4f W; causes %v", top, p, shares)
	}
	if f := ta.total("one", "busy"); f.Lo() > 4.180 || f.Hi() < 4.180 {
		t.Errorf("%.3f ± %.3f W does not contain the true 4.180 W", f.Estimate, f.Expanded)
	}
	if rt := ta.State(study.StateOn{Board: "one", State: "bare"}).Taken[0].Rails[0]; rt.Burst.Valid() {
		t.Error("a steady current has a bound too")
	}
}
