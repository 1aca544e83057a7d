package tally_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// The short example of the docs, computed by a general-purpose uncertainty
// library (testdata/multirail.py, which says which).
func TestAgainstAnotherUncertaintyLibrary(t *testing.T) {
	raw, err := os.ReadFile("testdata/multirail.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Rails             map[string]map[string][2]float64
		Totals            map[string][2]float64
		Difference, Ratio [2]float64
		Correlation       float64
	}
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	s, _, err := studyfile.Open("../../docs/examples/first.yaml")
	if err != nil {
		t.Fatal(err)
	}
	ta, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	const rel = 1e-9
	check := func(what string, got tally.Figure, want [2]float64) {
		t.Helper()
		if math.Abs(got.Estimate-want[0]) > rel*want[0] || math.Abs(got.U-want[1]) > rel*want[1] {
			t.Errorf("%s: %.12g, u %.12g; the library says %.12g, u %.12g", what, got.Estimate, got.U, want[0], want[1])
		}
	}
	at := func(state string) *tally.State { return ta.State(study.StateOn{Board: "Heron", State: state}) }
	for state, rails := range want.Rails {
		for name, w := range rails {
			check(state+" "+name, at(state).Rail(name).Power, w)
		}
		check(state, at(state).Total, want.Totals[state])
	}
	d, err := ta.Compare(at("busy"), at("idle"))
	if err != nil {
		t.Fatal(err)
	}
	check("difference", d.Difference, want.Difference)
	check("ratio", d.Ratio, want.Ratio)
	r, err := ta.Graph.Corr(at("busy").Total.Value, at("idle").Total.Value)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r-want.Correlation) > rel {
		t.Errorf("correlation of the totals %.12g, the library says %.12g", r, want.Correlation)
	}
}
