package tally

import (
	"math"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// twoBoards is one state on two boards in a sitting each; repeated adds a
// second sitting of the first board.
func twoBoards(t *testing.T, carried *study.CarriedEffect, repeated string) *Tally {
	b := newBench(t, "±1 %")
	b.board("one", "core at 1 V").Chip = "first"
	b.board("two", "core at 1 V").Chip = "second"
	b.sitting("s1", "one", map[string][]string{"bare": {"core: 2.0000000 V, 1.0000000 V"}})
	b.sitting("s2", "two", map[string][]string{"bare": {"core: 1.5000000 V, 1.0000000 V"}})
	if repeated != "" {
		b.sitting("s3", "one", map[string][]string{"bare": {"core: " + repeated + ", 1.0000000 V"}})
	}
	b.SittingEffect = carried
	return b.run()
}

func carriedEffect(t *testing.T, sd string, dof float64) *study.CarriedEffect {
	e, err := quantity.Parse(sd, quantity.Watt, "")
	if err != nil {
		t.Fatal(err)
	}
	return &study.CarriedEffect{SD: e, DOF: dof}
}

// The total has the carried component added in quadrature; the difference of
// two boards measured in a sitting each has it twice; with repeats of its own
// the two are pooled, variances weighted by degrees of freedom.
func TestSittingEffectCarriedOver(t *testing.T) {
	plain := twoBoards(t, nil, "")
	with := twoBoards(t, carriedEffect(t, "30 mW", 4), "")
	near(t, "u of a total", with.total("one", "bare").U, math.Hypot(plain.total("one", "bare").U, 0.030), 1e-9)
	d0, d1 := plain.Differences[0].Difference, with.Differences[0].Difference
	near(t, "u of a difference", d1.U, math.Hypot(d0.U, 0.030*math.Sqrt2), 1e-9)
	if math.IsInf(with.total("one", "bare").DOF, 1) {
		t.Error("four degrees of freedom were taken for infinitely many")
	}
	if with.Sittings.Assessed || with.Sittings.DOF != 4 {
		t.Errorf("%+v", with.Sittings)
	}
	if has(with, "sittings-not-assessed") != nil || has(with, "sittings-carried") == nil {
		t.Errorf("findings %v", with.Findings)
	}
	if f := has(plain, "sittings-not-assessed"); f == nil || !strings.Contains(f.Text.String(), "may be one between days") {
		t.Errorf("findings %v", plain.Findings)
	}
	// A repeat 0.1 W higher has s² = 0.1²/2 with one degree of freedom, less what
	// the readings explain (their resolution, of no account here).
	pooled := twoBoards(t, carriedEffect(t, "30 mW", 4), "2.1000000 V")
	near(t, "pooled", pooled.Sittings.SD, math.Sqrt((4*0.030*0.030+0.1*0.1/2)/5), 1e-3)
	if pooled.Sittings.DOF != 5 || !pooled.Sittings.Assessed {
		t.Errorf("%+v", pooled.Sittings)
	}
}

// One specimen is one specimen; two boards with one chip are two.
func TestSpecimens(t *testing.T) {
	one := twoBoards(t, nil, "")
	if f := has(one, "one-specimen"); f == nil || !strings.Contains(f.Text.String(), "one and two are one specimen each") && !strings.Contains(f.Text.String(), "two and one are one specimen each") {
		t.Errorf("findings %v", one.Findings)
	}
	b := newBench(t, "±1 %")
	for i, n := range []string{"a", "b", "c"} {
		b.board(n, "core at 1 V").Chip = []string{"first", "first", "second"}[i]
		b.sitting("s"+n, n, map[string][]string{"bare": {"core: 2.0000 V, 1.0000 V"}})
	}
	ta := b.run()
	if f := has(ta, "one-specimen"); f == nil || !strings.HasPrefix(f.Text.String(), "c is one specimen.") {
		t.Errorf("findings %v", ta.Findings)
	}
	for pair, want := range map[[2]int]string{
		{0, 1}: "two specimens of one chip", {0, 2}: "Of their chips 2 and 1 specimens",
	} {
		if got := ta.Specimens(ta.Boards[pair[0]].Board, ta.Boards[pair[1]].Board).String(); !strings.Contains(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
