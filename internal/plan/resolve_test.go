package plan_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"railtally/internal/example"
	"railtally/internal/phrase"
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func tallied(t *testing.T, text string) *tally.Tally {
	t.Helper()
	s, _, err := studyfile.Read("study.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	ta, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return ta
}

func settled(t *testing.T, ta *tally.Tally) plan.Settling {
	t.Helper()
	x, ok, err := plan.DoubtOfDifference(ta, ta.Differences[0])
	if err != nil || !ok {
		t.Fatalf("no doubt: %v, %s", err, ta.Differences[0].Verdict)
	}
	s, err := x.Settle(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func kindOf(list []plan.Advice, k plan.Kind) []plan.Advice {
	var out []plan.Advice
	for _, a := range list {
		if a.Kind == k {
			out = append(out, a)
		}
	}
	return out
}

func close(t *testing.T, what string, got, want, part float64) {
	t.Helper()
	if math.Abs(got-want) > part*math.Abs(want) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

const scattering = `study: Which draws more?
instruments: {meter: {kind: meter, ranges: {5 V: {digit: 1 µV, spec: ±(0 % + 0.001 mV)}}}}
boards: {Heron: {rails: {core: {nominal: 1 V ±0.001 %, tap: sense resistor 1 Ω ±0.0001 %}}}}
states: {idle: {}, busy: {}}
compare: [Heron busy against Heron idle]
sittings:
  - {board: Heron, on: 2026-05-09, meter: meter, steps: [
      {state: idle, core: {i: 0.980000 1.000000 1.020000 V, v: 1.000000 V}},
      {state: busy, core: {i: 0.990000 1.010000 1.030000 V, v: 1.000000 V}}]}
`

// With nothing but scatter, a difference of two means of n readings each has the
// half-width t(ν)·√(2s²/n) with ν = 2(n − 1) (JCGM 100 G.4.1, H.3.6: two equal
// components of n − 1 degrees of freedom).
func TestMoreReadingsByTheFormula(t *testing.T) {
	ta := tallied(t, scattering)
	half := func(n float64) float64 {
		k := distuv.StudentsT{Sigma: 1, Nu: 2 * (n - 1)}.Quantile(0.975)
		return k * math.Sqrt(2*0.02*0.02/n)
	}
	s := settled(t, ta)
	close(t, "now", s.Now, half(3), 1e-3)
	close(t, "needed", s.Needed, 0.01, 1e-6)
	more := kindOf(s.Alone, plan.MoreRepeats)
	if len(more) != 2 || !strings.Contains(more[0].Text+more[1].Text, "10 readings of Heron core instead of 3") {
		t.Fatalf("%+v", s.Alone)
	}
	for _, a := range more {
		n := 10.0
		if strings.Contains(a.Text, "30 readings") {
			n = 30
		}
		close(t, a.Text, a.After, half(n), 1e-3)
	}
	// Thirty readings bring ±10.3 mW, one sitting more besides is enough.
	if !s.Enough || s.Together[len(s.Together)-1].After > s.Needed {
		t.Errorf("not enough: %+v", s.Together)
	}
}

// A sitting's own effect falls with the number of sittings: it is carried over
// with infinitely many degrees of freedom here, and all there is.
func TestMoreSittingsByTheFormula(t *testing.T) {
	ta := tallied(t, `study: Which draws more?
sitting effect: {sd: 20 mW, degrees of freedom: 1000000}
instruments: {meter: {kind: meter, ranges: {5 V: {digit: 1 µV, spec: ±(0 % + 0.001 mV)}}}}
boards: {Heron: {rails: {core: {nominal: 1 V ±0.001 %, tap: sense resistor 1 Ω ±0.0001 %}}}, Egret: {rails: {core: {nominal: 1 V ±0.001 %, tap: sense resistor 1 Ω ±0.0001 %}}}}
states: {idle: {}}
compare: [Heron idle against Egret idle]
sittings:
  - {board: Heron, on: 2026-05-09, meter: meter, steps: [{state: idle, core: {i: 1.000000 V, v: 1.000000 V}}]}
  - {board: Egret, on: 2026-05-10, meter: meter, steps: [{state: idle, core: {i: 1.030000 V, v: 1.000000 V}}]}
`)
	s := settled(t, ta)
	close(t, "now", s.Now, 1.959964*math.Sqrt2*0.02, 1e-3)
	for _, a := range kindOf(s.Alone, plan.MoreDays) {
		n := 2.0
		if strings.Contains(a.Text, "3 more") {
			n = 4
		}
		close(t, a.Text, a.After, 1.959964*math.Sqrt(2/n)*0.02, 1e-3)
	}
	if !s.Enough || len(s.Together) != 1 || !strings.Contains(s.Together[0].Text, "3 more sittings") || s.SittingUnknown {
		t.Errorf("%+v", s)
	}
}

// Advice tells the truth: the record changed by hand as it says gives the
// half-width that it promises.
func TestAdviceKeepsItsPromise(t *testing.T) {
	const text = `study: Which draws more?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±0.2 %%, zero drift: 2 mA per min}
  meter: {kind: meter, ranges: {500 mV: {digit: 0.01 mV, spec: ±(0.02 %% + 1 digits)}, 5 V: {digit: 0.1 mV, spec: ±(0.02 %% + 1 digits)}}}
boards: {Heron: {rails: {core: {nominal: 1 V ±0.1 %%, tap: clamp}}}}
states: {idle: {}, busy: {}}
compare: [Heron busy against Heron idle]
sittings:
  - {board: Heron, on: 2026-05-09 10:00, meter: meter, steps: [
      {zero: {clamp: 0.10 mV}, at: "10:00"},
      {state: idle, at: "10:20", %score: {i: 100.10 mV, v: 1.0000 V}},
      {state: busy, at: "10:40", %score: {i: 101.00 mV, v: 1.0000 V}}]}
`
	s := settled(t, tallied(t, fmt.Sprintf(text, "", "")))
	zeros := kindOf(s.Alone, plan.MoreZeros)
	if len(zeros) != 1 {
		t.Fatalf("%+v", s.Alone)
	}
	by := tallied(t, fmt.Sprintf(text, "zero: {clamp: 0.10 mV}, ", "zero: {clamp: 0.10 mV}, "))
	close(t, "fresh zeros", zeros[0].After, by.Differences[0].Difference.Expanded, 1e-9)
	if zeros[0].After > 0.5*s.Now {
		t.Errorf("fresh zeros bring ±%g W to ±%g W", s.Now, zeros[0].After)
	}
	turns := kindOf(s.Alone, plan.MoreTurns)
	if len(turns) == 0 {
		t.Fatalf("no turns among %+v", s.Alone)
	}
	five := strings.NewReplacer("tap: clamp}", "tap: clamp ×5}", "100.10 mV", "500.50 mV", "101.00 mV", "505.00 mV").Replace(fmt.Sprintf(text, "", ""))
	want := tallied(t, five).Differences[0].Difference.Expanded
	for _, a := range turns {
		if strings.Contains(a.Text, " 5 times") {
			close(t, a.Text, a.After, want, 1e-9)
		}
	}
}

// Advice on the worked example: nothing of the study is changed by looking for
// it, and what is left open is explained.
func TestAdviceOnTheExample(t *testing.T) {
	text := string(example.New(example.Seed).Text)
	ta, untouched := tallied(t, text), tallied(t, text)
	if err := plan.Advise(t.Context(), ta); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(ta.Study, untouched.Study) {
		t.Error("the study is another after looking for advice")
	}
	open := 0
	for _, c := range ta.Claims {
		if c.Judgement != tally.Undecided || c.Kind.Unit() != quantity.Watt {
			continue // a temperature is made from no rail's readings alone
		}
		open++
		said := strings.Join(phrase.Strings(c.Advice), " ")
		for _, want := range []string{"would have to be ±", "sitting", "What is left is mostly"} {
			if !strings.Contains(said, want) {
				t.Errorf("claim %d: %q lacks %q", c.Number, said, want)
			}
		}
	}
	for _, d := range ta.Differences {
		if d.Verdict == tally.NotResolved {
			open++
			if !strings.Contains(strings.Join(phrase.Strings(d.Advice), " "), "more sittings") {
				t.Errorf("%s: %q", d.Sentence(), d.Advice)
			}
		}
	}
	if open < 2 {
		t.Errorf("%d things are open in the worked example", open)
	}
}

func TestSettledThingsHaveNoDoubt(t *testing.T) {
	ta := tallied(t, string(example.New(example.Seed).Text))
	for _, d := range ta.Differences {
		if _, ok, err := plan.DoubtOfDifference(ta, d); err != nil || ok != (d.Verdict == tally.NotResolved) {
			t.Errorf("%s: doubt %v, error %v", d.Sentence(), ok, err)
		}
	}
	for _, c := range ta.Claims {
		if _, ok, err := plan.DoubtOfClaim(ta, c); err != nil || ok != (c.Judgement == tally.Undecided && c.Kind.Unit() == quantity.Watt) {
			t.Errorf("claim %d: doubt %v, error %v", c.Number, ok, err)
		}
	}
	if s := (plan.Settling{Now: 1, Needed: 0.5}).Sentences(quantity.Watt); len(s) != 2 || !strings.Contains(s[1], "Neither more readings") {
		t.Errorf("%q", s)
	}
}
