package plan

import (
	"math"
	"testing"

	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// What settles a difference does not depend on the states that it is not made
// from: their readings are left out, and the figure is the same to the last digit.
func TestDoubtLeavesOtherStatesOut(t *testing.T) {
	s, _, err := studyfile.Read("study.yaml", []byte(example.New(example.Seed).Text))
	if err != nil {
		t.Fatal(err)
	}
	for _, sit := range s.Sittings {
		for _, st := range sit.Steps {
			for _, r := range st.Rails {
				for _, c := range r.Current {
					if e := &c.Reading.Entry; e.Kind == quantity.Band { // what flickers keeps all states
						e.Kind, e.Values = quantity.Single, []float64{(e.Values[0] + e.Values[1]) / 2}
					}
				}
			}
		}
	}
	whole, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range whole.Differences {
		x, ok, err := DoubtOfDifference(whole, d)
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			continue
		}
		_, f, err := x.tallied(variant{study: x.study})
		if err != nil || math.Abs(f.Estimate-d.Difference.Estimate) > 1e-12 || math.Abs(f.U-d.Difference.U) > 1e-12 {
			t.Errorf("%s against %s: %g ± %g, without the other states %g ± %g; %v", d.First.On(), d.Second.On(), d.Difference.Estimate, d.Difference.U, f.Estimate, f.U, err)
		}
		all := Doubt{study: whole.Study}
		if n := x.readings(); n == 0 || 2*n > all.readings() {
			t.Errorf("%d of %d readings are left", n, all.readings())
		}
	}
}
