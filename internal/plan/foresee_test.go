package plan

import (
	"context"
	"math"
	"strings"
	"testing"

	"railtally/internal/study"
)

// Advice that is put into the study gives, planned anew, the width that was
// predicted of it; the study stays sound.
func TestAdoptedAdviceGivesItsWidth(t *testing.T) {
	texts := []string{heron, swapped}
	kinds := map[Kind]bool{}
	for _, text := range texts {
		p, err := Make(context.Background(), readStudy(t, text), Options{Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range p.Counsels {
			for _, a := range c.Alone {
				if !a.Own() {
					if err := a.Adopt(readStudy(t, text)); err == nil {
						t.Errorf("%s was put into the study", a.Text)
					}
					continue
				}
				s := readStudy(t, text)
				if err := a.Adopt(s); err != nil {
					t.Fatal(err)
				}
				if f := study.Check(s); len(f) > 0 {
					t.Errorf("%s leaves faults: %v", a.Text, f)
				}
				q, err := Make(context.Background(), s, Options{Seed: 1, NoAdvice: true})
				if err != nil {
					t.Fatal(err)
				}
				if got := q.Counsels[i].Figure.Expanded; math.Abs(got/a.After-1) > 1e-9 {
					t.Errorf("%s: ±%g W after it was put in, predicted ±%g W", a.Text, got, a.After)
				}
				kinds[a.Kind] = true
			}
		}
	}
	for _, k := range []Kind{MoreTurns, ThreadBoth, MoreZeros, MorePasses, MoreDays, OtherSensor, UseShunt} {
		if !kinds[k] {
			t.Errorf("no advice of the kind %q was tried", k)
		}
	}
}

// What is foreseen of a state is what was expected of it, rail by rail.
func TestForeseen(t *testing.T) {
	p, err := Make(context.Background(), readStudy(t, heron), Options{Seed: 1, NoAdvice: true})
	if err != nil {
		t.Fatal(err)
	}
	ta, on, err := p.Foreseen("Heron", "")
	if err != nil || on.State != "busy" {
		t.Fatal(on, err)
	}
	for rail, amps := range map[string]float64{"core": 2.2, "aux": 0.041} {
		if got := ta.State(on).Rail(rail).Drawn.Estimate; math.Abs(got/amps-1) > 0.03 {
			t.Errorf("%s is foreseen to carry %g A, expected were %g A", rail, got, amps)
		}
	}
	if _, _, err := p.Foreseen("Otter", ""); err == nil || !strings.Contains(err.Error(), "Otter") {
		t.Errorf("a board that is not there: %v", err)
	}
}
