package tally

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// jcgm106 is the part of testdata/jcgm106.json that claims are checked with:
// worked examples of JCGM 106:2012, each with its clause; the file says which of
// its values are quoted and which are from memory and recomputed.
type jcgm106 struct {
	Table  []struct{ Pc, Z float64 } `json:"table_7.3"`
	Worked []struct {
		ID        string
		Y, U, Pc  float64
		TU, TL    *float64
		Z         float64
		Threshold float64
		Rows      []struct{ R, Risk float64 }
	}
	Power []struct {
		ID              string
		YW              float64 `json:"y_W"`
		UW              float64 `json:"u_W"`
		Nu              float64 `json:"nu_eff"`
		TUW             float64 `json:"TU_W"`
		PcNormal        float64 `json:"pc_normal"`
		PcT             float64 `json:"pc_t"`
		AUNormal        float64 `json:"AU_for_pc_0.95_normal"`
		AUT             float64 `json:"AU_for_pc_0.95_t"`
		YV, UV, TLV, Pc float64
	} `json:"made_up_for_power"`
}

func readJCGM106(t *testing.T) jcgm106 {
	t.Helper()
	raw, err := os.ReadFile("testdata/jcgm106.json")
	if err != nil {
		t.Fatal(err)
	}
	var j jcgm106
	if err := json.Unmarshal(raw, &j); err != nil {
		t.Fatal(err)
	}
	return j
}

func normalFigure(y, u float64) Figure {
	return Figure{Estimate: y, U: u, DOF: math.Inf(1), K: 2, Expanded: 2 * u}
}

func TestConformityOfJCGM106(t *testing.T) {
	j := readJCGM106(t)
	for _, row := range j.Table {
		near(t, "Table of 7.3", normalFigure(0, 1).conformity(math.Inf(-1), row.Z), row.Pc, 1e-6)
		near(t, "quantile", quantile(row.Pc, math.Inf(1)), row.Z, 1e-6)
	}
	checked := 0
	for _, w := range j.Worked {
		lo, hi := math.Inf(-1), math.Inf(1)
		if w.TL != nil {
			lo = *w.TL
		}
		if w.TU != nil {
			hi = *w.TU
		}
		switch {
		case w.Pc > 0:
			near(t, w.ID, normalFigure(w.Y, w.U).conformity(lo, hi), w.Pc, 1e-9)
			checked++
		case w.ID == "guard-risk-table":
			// At the acceptance limit TU − r·U, with U = 2u, the risk is Φ(−2r).
			for _, r := range w.Rows {
				near(t, w.ID, 1-normalFigure(10-r.R*2*0.3, 0.3).conformity(lo, 10), r.Risk, 1e-9)
			}
			checked++
		case w.ID == "8.3.3-speed":
			// Above the threshold the claim "at most 100 km/h" fails at a risk of 0.1 %.
			for _, c := range []struct {
				v    float64
				want Judgement
			}{{w.Threshold * 0.9999, Undecided}, {w.Threshold * 1.0001, Fails}} {
				rule := study.Rule{Kind: study.RuleRisk, Risk: 0.001}
				if got := decide(normalFigure(c.v, 0.02*c.v), lo, 100, rule); got != c.want {
					t.Errorf("%s at %.3f: %s, want %s", w.ID, c.v, got, c.want)
				}
			}
			checked++
		}
	}
	if checked != 5 {
		t.Errorf("%d worked examples were checked, want 5", checked)
	}
	p := j.Power[0]
	few := Figure{Estimate: p.YW, U: p.UW, DOF: p.Nu}
	near(t, "normal", normalFigure(p.YW, p.UW).conformity(math.Inf(-1), p.TUW), p.PcNormal, 1e-9)
	near(t, "t of 6 degrees of freedom", few.conformity(math.Inf(-1), p.TUW), p.PcT, 1e-9)
	rule := study.Rule{Kind: study.RuleRisk, Risk: 0.05}
	for _, c := range []struct {
		f  Figure
		au float64
	}{{normalFigure(0, p.UW), p.AUNormal}, {few, p.AUT}} {
		c.f.Estimate = c.au - 1e-9
		if got := decide(c.f, math.Inf(-1), p.TUW, rule); got != Holds {
			t.Errorf("just inside the acceptance limit: %s", got)
		}
		c.f.Estimate = c.au + 1e-9
		if got := decide(c.f, math.Inf(-1), p.TUW, rule); got != Undecided {
			t.Errorf("just outside the acceptance limit: %s", got)
		}
	}
}

func TestDecisionRules(t *testing.T) {
	inf := math.Inf(1)
	none, guard := study.Rule{Kind: study.RuleNone}, study.Rule{Kind: study.RuleGuard, Guard: 1}
	risk := study.Rule{Kind: study.RuleRisk, Risk: 0.05}
	for _, c := range []struct {
		y, lo, hi float64
		rule      study.Rule
		want      Judgement
	}{
		{9.99, -inf, 10, none, Holds}, {10.01, -inf, 10, none, Fails}, {9.99, 10, inf, none, Fails}, {9.5, 9, 10, none, Holds},
		{9.79, -inf, 10, guard, Holds}, {9.81, -inf, 10, guard, Undecided}, {10.19, -inf, 10, guard, Undecided}, {10.21, -inf, 10, guard, Fails},
		{9.5, 9, 10, guard, Holds}, {9.1, 9, 10, guard, Undecided}, {8.7, 9, 10, guard, Fails}, {9.5, 9.4, 9.6, guard, Undecided},
		{9.83, -inf, 10, risk, Holds}, {9.84, -inf, 10, risk, Undecided}, {10.17, -inf, 10, risk, Fails}, {9.5, 9.45, 9.55, risk, Undecided},
	} {
		if got := decide(normalFigure(c.y, 0.1), c.lo, c.hi, c.rule); got != c.want {
			t.Errorf("%g in %g..%g by %s: %s, want %s", c.y, c.lo, c.hi, c.rule.Kind, got, c.want)
		}
	}
	for y, want := range map[float64]Judgement{9: Holds, 11: Fails} {
		if got := decide(Figure{Estimate: y, DOF: inf}, -inf, 10, risk); got != want {
			t.Errorf("an exact %g: %s, want %s", y, got, want)
		}
	}
}

// A claim that one side is true is decided against the other side by the same
// amount, moving both figure and limits changes nothing, and a claim that holds
// at a risk also holds at any larger one (JCGM 106 7.5: the one-sided interval
// lies inside the limits).
func TestDecisionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Figure{
			Estimate: rapid.Float64Range(-5, 5).Draw(t, "y"), U: rapid.Float64Range(0.01, 2).Draw(t, "u"),
			DOF: rapid.SampledFrom([]float64{1, 2, 5, 30, math.Inf(1)}).Draw(t, "dof"),
		}
		limit := rapid.Float64Range(-5, 5).Draw(t, "limit")
		risk := rapid.Float64Range(0.001, 0.49).Draw(t, "risk")
		rule := study.Rule{Kind: study.RuleRisk, Risk: risk}
		below, above := decide(f, math.Inf(-1), limit, rule), decide(f, limit, math.Inf(1), rule)
		opposite := map[Judgement]Judgement{Holds: Fails, Fails: Holds, Undecided: Undecided}
		p := f.conformity(math.Inf(-1), limit)
		onEdge := math.Abs(p-risk) < 1e-9 || math.Abs(p-1+risk) < 1e-9
		if !onEdge && above != opposite[below] {
			t.Fatalf("below is %s, above is %s", below, above)
		}
		if p+f.conformity(limit, math.Inf(1)) < 1-1e-9 || p+f.conformity(limit, math.Inf(1)) > 1+1e-9 {
			t.Fatalf("both sides together have a probability of %g", p+f.conformity(limit, math.Inf(1)))
		}
		if upper := f.Estimate + quantile(1-risk, f.DOF)*f.U; !onEdge && (below == Holds) != (upper <= limit) {
			t.Fatalf("%s, with the upper end of the one-sided interval at %g and the limit at %g", below, upper, limit)
		}
		larger := study.Rule{Kind: study.RuleRisk, Risk: math.Min(0.4999, risk*1.5)}
		if below == Holds && decide(f, math.Inf(-1), limit, larger) != Holds {
			t.Fatal("it holds at a small risk and not at a larger one")
		}
	})
}

// claims adds claims to a study of two boards, two factors and everything read.
func claimed(t *testing.T, claims ...*study.Claim) *Tally {
	b := newBench(t, "±(1 % + 1 mA after zero)")
	b.States = nil
	b.Factors = []*study.Factor{{Name: "drives", Levels: []string{"0", "1", "4"}}, {Name: "load", Levels: []string{"none", "copy"}}}
	for _, n := range []string{"0 none", "1 none", "1 copy", "4 copy"} {
		d, l, _ := strings.Cut(n, " ")
		b.States = append(b.States, &study.State{Name: n, Levels: []study.Level{{Factor: "drives", Value: d}, {Factor: "load", Value: l}}})
	}
	b.board("one", "core at 1 V")
	b.board("two", "core at 1 V")
	b.sitting("s1", "one", map[string][]string{"0 none": {"core: 2.0000 V, 1.0000 V"}, "1 none": {"core: 2.2500 V, 1.0000 V"},
		"1 copy": {"core: 2.7500 V, 1.0000 V"}, "4 copy": {"core: 3.5000 V, 1.0000 V"}})
	b.sitting("s2", "two", map[string][]string{"0 none": {"core: 1.5000 V, 1.0000 V"}})
	for _, st := range b.Sittings[0].Steps {
		st.Throughput = b.entry("262 MB/s", quantity.BytePerSecond)
		st.Temperatures = []*study.Named{{Name: "case", Reading: study.Reading{Entry: *b.entry("61.0 °C", quantity.Celsius)}}}
	}
	b.Claims = claims
	return b.run()
}

func limit(t *testing.T, text string, u quantity.Unit) *quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatal(err)
	}
	return &e
}

func TestClaimsOfEveryKind(t *testing.T) {
	w := func(s string) *quantity.Entry { return limit(t, s, quantity.Watt) }
	ratio := func(s string) *quantity.Entry { return limit(t, s, quantity.None) }
	on := func(b, s string) study.StateOn { return study.StateOn{Board: b, State: s} }
	effect := func(factor, level, from string) study.EffectOf {
		return study.EffectOf{Board: "one", Factor: factor, Level: level, From: from}
	}
	for _, c := range []struct {
		claim *study.Claim
		value float64 // of the figure, NaN where there is none
		want  Judgement
		says  string
	}{
		{&study.Claim{Kind: study.ClaimTotal, First: on("one", "4 copy"), Below: w("4 W")}, 3.5, Holds, "The chip's power in one 4 copy is below 4 W (measured"},
		{&study.Claim{Kind: study.ClaimTotal, First: on("one", "4 copy"), Within: w("3..3.4 W")}, 3.5, Fails, "Not so: “The chip's power in one 4 copy is within 3..3.4 W.”"},
		{&study.Claim{Kind: study.ClaimTotal, First: on("one", "4 copy"), Below: w("3.51 W"), Says: "At most 3.51 W."}, 3.5, Undecided, "Undecided: “At most 3.51 W.”"},
		{&study.Claim{Kind: study.ClaimTotal, First: on("two", "4 copy"), Below: w("4 W")}, math.NaN(), Undecided, "two 4 copy was not measured."},
		{&study.Claim{Kind: study.ClaimDifference, First: on("two", "0 none"), Against: on("one", "0 none"), Below: w("-0.4 W")}, -0.5, Holds, ""},
		{&study.Claim{Kind: study.ClaimRatio, First: on("two", "0 none"), Against: on("one", "0 none"), Within: ratio("0.75 ± 5 %")}, 0.75, Holds, ""},
		{&study.Claim{Kind: study.ClaimEffect, Effect: effect("drives", "4", ""), Above: w("0.9 W")}, 1, Holds, "What drives 4 adds on one is above 0.9 W"},
		{&study.Claim{Kind: study.ClaimEffect, Effect: effect("drives", "4", "1"), Above: w("0.9 W")}, 0.75, Fails, "drives 4 instead of 1"},
		{&study.Claim{Kind: study.ClaimEffect, Effect: effect("drives", "0", "1"), Below: w("0 W")}, -0.25, Holds, ""},
		{&study.Claim{Kind: study.ClaimEffect, Effect: effect("load", "copy", "none"), Above: w("0.4 W")}, 0.5, Holds, ""},
		{&study.Claim{Kind: study.ClaimShare, Effect: effect("", "", ""), Above: ratio("50 %")}, 2 / 3.5, Holds, "being on takes is above 50 % (measured 57"},
		{&study.Claim{Kind: study.ClaimShare, Effect: effect("load", "copy", ""), Above: ratio("0.2")}, 0.5 / 3.5, Fails, ""},
		{&study.Claim{Kind: study.ClaimThroughput, First: on("one", "1 copy"), Above: limit(t, "250 MB/s", quantity.BytePerSecond)}, 262e6, Holds, ""},
		{&study.Claim{Kind: study.ClaimThroughput, First: on("two", "0 none"), Above: limit(t, "250 MB/s", quantity.BytePerSecond)}, math.NaN(), Undecided, "No throughput was noted"},
		{&study.Claim{Kind: study.ClaimTemperature, First: on("one", "1 copy"), Point: "case", Below: limit(t, "60 °C", quantity.Celsius)}, 61, Fails, ""},
		{&study.Claim{Kind: study.ClaimTemperature, First: on("one", "1 copy"), Point: "sink", Below: limit(t, "60 °C", quantity.Celsius)}, math.NaN(), Undecided, "there are case"},
		{&study.Claim{Kind: study.ClaimEffect, Effect: study.EffectOf{Board: "two", Factor: "load", Level: "copy"}, Above: w("0 W")}, math.NaN(), Undecided, "Fewer than two states of two"},
	} {
		r := claimed(t, c.claim).Claims[0]
		if r.Judgement != c.want || !strings.Contains(r.Sentence().String(), c.says) {
			t.Errorf("%s; want %s and %q", r.Sentence(), c.want, c.says)
		}
		if r.Known == math.IsNaN(c.value) {
			t.Errorf("%s: known %v", r.Sentence(), r.Known)
		} else if r.Known {
			near(t, r.Sentence().String(), r.Figure.Estimate, c.value, 1e-6)
			if len(r.Rests) == 0 {
				t.Errorf("%s rests on nothing", r.Sentence())
			}
		}
	}
}

// What the advice asks for decides the claim.
func TestAdviceDecides(t *testing.T) {
	ta := claimed(t, &study.Claim{Kind: study.ClaimTotal, First: study.StateOn{Board: "one", State: "4 copy"}, Below: limit(t, "3.52 W", quantity.Watt)})
	r := ta.Claims[0]
	if r.Judgement != Undecided || len(r.Advice) < 2 || !strings.Contains(r.Advice[1].String(), "calibrate") {
		t.Fatalf("%s: advice %q", r.Sentence(), r.Advice)
	}
	for factor, want := range map[float64]Judgement{0.999: Holds, 1.001: Undecided} {
		f := r.Figure
		f.U = r.Needed() * factor
		if got := decide(f, r.Lo, r.Hi, r.Rule); got != want {
			t.Errorf("at %g of what is needed: %s, want %s", factor, got, want)
		}
	}
	if !claimed(t, &study.Claim{Kind: study.ClaimTotal, First: r.First, Below: limit(t, "3 W", quantity.Watt)}).AnyFails() || ta.AnyFails() {
		t.Error("AnyFails does not tell a failing claim from an undecided one")
	}
}

func TestRuleOfTheStudy(t *testing.T) {
	s := &study.Study{}
	c := &study.Claim{}
	if r := s.RuleOf(c); r.Kind != study.RuleRisk || r.Risk != 0.05 {
		t.Errorf("without a rule: %+v", r)
	}
	s.Rule = &study.Rule{Kind: study.RuleNone}
	if r := s.RuleOf(c); r.Kind != study.RuleNone {
		t.Errorf("the study's rule: %+v", r)
	}
	c.Rule = &study.Rule{Kind: study.RuleGuard, Guard: 0.5}
	if r := s.RuleOf(c); r.Guard != 0.5 {
		t.Errorf("the claim's own rule: %+v", r)
	}
}

// A board that was only measured with something attached says nothing of being
// on alone: its base is named for what it is, and a claim about it is undecided.
func TestBaseIsNamedForWhatItIs(t *testing.T) {
	for _, c := range []struct {
		states [][]string
		name   string
		why    string
	}{
		{[][]string{{"0", "none"}, {"4", "none"}}, "being on", ""},
		{[][]string{{"1", "copy"}, {"4", "copy"}}, "being on with drives 1 and load copy", "never measured with every factor at its first level"},
	} {
		ta := factored(t, twoFactors, []string{"drives", "load"}, c.states, func(l []string) float64 {
			if l[0] == "4" {
				return 3
			}
			return 2
		})
		if got := ta.Boards[0].Effects.BaseName().String(); got != c.name {
			t.Errorf("%v: base %q, want %q", c.states, got, c.name)
		}
		r := &ClaimResult{Claim: &study.Claim{Kind: study.ClaimShare, Effect: study.EffectOf{Board: "one"}}}
		if err := ta.claimed(r); err != nil || !strings.Contains(r.Why.String(), c.why) || (r.Why.IsZero()) != (c.why == "") {
			t.Errorf("%v: %q, %v", c.states, r.Why, err)
		}
	}
}

// The measurement capability index of JCGM 106 7.6.3, and the probability beside
// it, of a rail's voltage within its limits (made up, computed by the formulas;
// the file says so).
func TestCapabilityOfJCGM106(t *testing.T) {
	raw, err := os.ReadFile("testdata/jcgm106.json")
	if err != nil {
		t.Fatal(err)
	}
	var j struct {
		Power []struct {
			ID string
			Y  float64 `json:"y_V"`
			U  float64 `json:"u_V"`
			TL float64 `json:"TL_V"`
			TU float64 `json:"TU_V"`
			Pc float64
			Cm float64
		} `json:"made_up_for_power"`
	}
	if err := json.Unmarshal(raw, &j); err != nil {
		t.Fatal(err)
	}
	x := j.Power[1]
	if x.ID != "two-sided-rail" {
		t.Fatal(x.ID)
	}
	c := ClaimResult{Known: true, Figure: normalFigure(x.Y, x.U), Lo: x.TL, Hi: x.TU, Rule: study.Rule{Kind: study.RuleGuard, Guard: 0.5}}
	near(t, "capability", c.Capability(), x.Cm, 1e-9)
	near(t, "conformity", c.Figure.conformity(x.TL, x.TU), x.Pc, 1e-9)
	near(t, "guard band", c.GuardBand(), x.U, 1e-12) // half of U = 2u
	c.Hi = math.Inf(1)
	if cm := c.Capability(); !math.IsNaN(cm) {
		t.Errorf("a claim with one limit has the capability %g", cm)
	}
}
