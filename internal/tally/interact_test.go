package tally

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/study"
)

// published is one factorial experiment of testdata/interactions.json: two that
// are printed in textbooks, with what R's lm makes of them (interactions.R).
type published struct {
	Factors    []string
	Levels     map[string][]string
	Runs       map[string][]string
	Y          []float64
	Sigma, DOF float64
	Names      []string
	Coef, SE   []*float64
}

// board makes a board of an experiment's runs, each with an independent error
// of its own.
func (p published) board(interactions ...string) (*Tally, *Board) {
	t := &Tally{Study: &study.Study{}, Level: 0.95, Graph: gum.New()}
	for _, name := range p.Factors {
		t.Study.Factors = append(t.Study.Factors, &study.Factor{Name: name, Levels: p.Levels[name]})
	}
	for _, x := range interactions {
		in := &study.Interaction{}
		for _, f := range strings.Split(x, ":") {
			in.Of = append(in.Of, study.OfFactor{Factor: f})
		}
		t.Study.Interactions = append(t.Study.Interactions, in)
	}
	b := &Board{Board: &study.Board{Name: "b"}}
	for i, y := range p.Y {
		st := &study.State{}
		for _, f := range p.Factors {
			st.Levels = append(st.Levels, study.Level{Factor: f, Value: p.Runs[f][i]})
		}
		total := t.Graph.Input(gum.Input{Name: "run", Dist: gum.Normal{Mean: y, U: p.Sigma}})
		b.States = append(b.States, &State{Board: b.Board, State: st, Taken: []*Taken{{Sitting: &study.Sitting{}, Total: total}}})
	}
	return t, b
}

func readPublished(t *testing.T) map[string]published {
	t.Helper()
	raw, err := os.ReadFile("testdata/interactions.json")
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Examples map[string]published }
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	return all.Examples
}

// rName is an effect as R names its coefficient.
func rName(e Effect) string {
	if e.Factor != "" {
		return e.Factor + e.Level
	}
	var parts []string
	for _, c := range e.Together {
		parts = append(parts, c.Factor+c.Level)
	}
	if parts == nil {
		return "(Intercept)"
	}
	return strings.Join(parts, ":")
}

func TestInteractionsOfPublishedExperiments(t *testing.T) {
	for name, interactions := range map[string][]string{
		"warpbreaks": {"wool:tension"},
		"npk":        {"N:P:K", "N:P", "N:K", "P:K"},
	} {
		p := readPublished(t)[name]
		ta, b := p.board(interactions...)
		e, err := ta.effectsOf(b)
		if err != nil || !e.Problem.IsZero() {
			t.Fatal(name, err, e.Problem)
		}
		got := map[string]Figure{}
		for _, x := range append([]Effect{e.Base}, e.Terms...) {
			got[rName(x)] = x.Power
		}
		for k, r := range p.Names {
			f, ok := got[r]
			delete(got, r)
			if p.Coef[k] == nil {
				if ok {
					t.Errorf("%s: %s is estimated as %g, and R finds that it cannot be", name, r, f.Estimate)
				}
				continue
			}
			near(t, name+" "+r, f.Estimate, *p.Coef[k], 1e-9)
			near(t, name+" "+r+" standard error", f.U, *p.SE[k], 1e-9)
		}
		if len(got) > 0 {
			t.Errorf("%s: R knows nothing of %v", name, got)
		}
		// With the residual variance as the variance of each run, chi-square is
		// the degrees of freedom.
		near(t, name+" chi-square", e.Chi2, p.DOF, 1e-9)
		near(t, name+" Birge ratio", e.Birge, 1, 1e-9)
	}
}

// What cannot be told is said in words, and costs nothing else.
func TestInteractionsThatCannotBeTold(t *testing.T) {
	npk := readPublished(t)["npk"]
	ta, b := npk.board("N:P", "N:K", "P:K", "N:P:K")
	e, err := ta.effectsOf(b)
	if err != nil || len(e.Untold) != 1 || !strings.Contains(e.Untold[0].String(), "What N, P and K do together cannot be told from what other factors add") {
		t.Errorf("%v: %q", err, e.Untold)
	}

	for _, c := range []struct {
		states [][]string
		want   string
		terms  int
	}{
		// No state has four drives and a copy: the plain sum remains.
		{[][]string{{"0", "none"}, {"4", "none"}, {"0", "copy"}}, "no state was measured with drives 4 and load copy. The effects here are those of a plain sum", 2},
		// One combination of two is there.
		{[][]string{{"0", "none"}, {"1", "none"}, {"4", "none"}, {"0", "copy"}, {"1", "copy"}}, "No state was measured with drives 4 and load copy, so what they add together", 4},
		{[][]string{{"0", "none"}, {"4", "none"}}, "load was not varied on this board", 1},
		{[][]string{{"0", "none"}, {"4", "none"}, {"0", "copy"}, {"4", "copy"}}, "", 3},
	} {
		p := published{Factors: []string{"drives", "load"}, Levels: twoFactors, Runs: map[string][]string{}, Sigma: 0.01}
		for i, s := range c.states {
			p.Runs["drives"], p.Runs["load"] = append(p.Runs["drives"], s[0]), append(p.Runs["load"], s[1])
			p.Y = append(p.Y, 2+float64(i))
		}
		ta, b := p.board("drives:load")
		e, err := ta.effectsOf(b)
		if err != nil {
			t.Fatal(err)
		}
		if said := strings.Join(phrase.Strings(e.Untold), " "); !strings.Contains(said, c.want) || (c.want == "") != (said == "") || len(e.Terms) != c.terms {
			t.Errorf("%v: %q and %d terms, want %q and %d", c.states, said, len(e.Terms), c.want, c.terms)
		}
	}
}

// With its interaction in the model, a board whose factors act together lacks
// fit no longer, and each effect says where it holds.
func TestInteractionMendsTheFit(t *testing.T) {
	p := published{Factors: []string{"drives", "load"}, Levels: twoFactors, Runs: map[string][]string{}, Sigma: 0.001}
	add := map[string]float64{"1": 0.25, "4": 1, "copy": 0.5}
	for range 2 { // each state twice, so that something is left over to test with
		for _, d := range twoFactors["drives"] {
			for _, l := range twoFactors["load"] {
				y := 2 + add[d] + add[l]
				if l == "copy" {
					y += 0.3 * add[d]
				}
				p.Runs["drives"], p.Runs["load"], p.Y = append(p.Runs["drives"], d), append(p.Runs["load"], l), append(p.Y, y)
			}
		}
	}
	ta, b := p.board()
	plain, err := ta.effectsOf(b)
	if err != nil || !plain.LacksFit() {
		t.Fatalf("%v: the plain sum has p = %g", err, plain.P)
	}
	ta, b = p.board("drives:load")
	e, err := ta.effectsOf(b)
	if err != nil || e.LacksFit() || math.IsNaN(e.P) {
		t.Fatalf("%v: with the interaction p = %g", err, e.P)
	}
	var names []string
	for _, x := range e.Terms {
		names = append(names, x.Name().String())
		if len(x.Together) > 0 {
			near(t, x.Name().String(), x.Power.Estimate, 0.3*add[x.Together[0].Level], 1e-9)
		} else {
			near(t, x.Name().String(), x.Power.Estimate, add[x.Level], 1e-9)
		}
	}
	want := "drives 1 instead of 0, with load none; drives 4 instead of 0, with load none; load copy instead of none, with drives 0; drives 1 with load copy, beyond each alone; drives 4 with load copy, beyond each alone"
	if got := strings.Join(names, "; "); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}

// A claim about an effect at a stated level of another factor. With all
// interactions in the sum every cell has a parameter of its own, so that the
// effect must be the difference of two cells' means, which no least squares is
// needed for: of a textbook's experiment (testdata/interactions.json), and of one
// of three factors with made-up runs.
func TestEffectWithAnotherLevel(t *testing.T) {
	cube := published{Factors: []string{"A", "B", "C"}, Levels: map[string][]string{}, Runs: map[string][]string{},
		Y: []float64{3, 5, 4, 9, 2, 7, 8, 20}, Sigma: 1}
	for i, f := range cube.Factors {
		cube.Levels[f] = []string{"0", "1"}
		for k := range cube.Y {
			cube.Runs[f] = append(cube.Runs[f], cube.Levels[f][k>>i&1])
		}
	}
	for _, c := range []struct {
		name string
		published
		together []string
	}{{"warpbreaks", readPublished(t)["warpbreaks"], []string{"wool:tension"}}, {"cube", cube, []string{"A:B", "A:C", "B:C", "A:B:C"}}} {
		ta, b := c.board(c.together...)
		ta.Boards = []*Board{b}
		var err error
		if b.Effects, err = ta.effectsOf(b); err != nil || !b.Effects.Problem.IsZero() || len(b.Effects.Untold) > 0 {
			t.Fatalf("%s: %v %s", c.name, err, b.Effects.Problem)
		}
		mean := func(cell map[string]string) float64 {
			sum, n := 0.0, 0.0
			for i, y := range c.Y {
				at := true
				for f, l := range cell {
					at = at && c.Runs[f][i] == l
				}
				if at {
					sum, n = sum+y, n+1
				}
			}
			if n == 0 {
				t.Fatalf("%s: no run has %v", c.name, cell)
			}
			return sum / n
		}
		for _, factor := range c.Factors {
			levels := c.Levels[factor]
			last := len(levels) - 1
			for _, l := range [][2]string{{levels[1], ""}, {levels[1], levels[0]}, {levels[0], levels[1]}, {levels[last], levels[last-1]}} {
				to, of := map[string]string{factor: l[0]}, map[string]string{factor: l[1]}
				if l[1] == "" {
					of[factor] = levels[0]
				}
				var with []study.Level
				for _, f := range c.Factors {
					if f != factor {
						far := c.Levels[f][len(c.Levels[f])-1]
						to[f], of[f], with = far, far, append(with, study.Level{Factor: f, Value: far})
					}
				}
				r := &ClaimResult{Claim: &study.Claim{Kind: study.ClaimEffect, Effect: study.EffectOf{Board: "b", Factor: factor, Level: l[0], From: l[1], With: with}}}
				if err := ta.claimedEffect(r); err != nil || !r.Why.IsZero() {
					t.Fatalf("%s: %v %s", c.name, err, r.Why)
				}
				near(t, fmt.Sprint(c.name, " ", factor, " ", l, " with ", with), r.Figure.Estimate, mean(to)-mean(of), 1e-9)
				if len(r.Cautions) != 1 || !strings.Contains(r.Cautions[0].String(), with[0].Value) {
					t.Errorf("%s: cautions %v", c.name, r.Cautions)
				}
			}
		}
		// The sum bears exactly the terms that it was made of.
		of := study.EffectOf{Board: "b", Factor: c.Factors[0], Level: c.Levels[c.Factors[0]][1]}
		bears := 0
		for _, x := range b.Effects.Terms {
			if b.Effects.Bears(x, of) {
				bears++
			}
		}
		if bears != 1 {
			t.Errorf("%s: an effect with the other factors at their first levels bears %d terms", c.name, bears)
		}
	}
}
