package tally

import (
	"math"
	"testing"
)

// Pooled variances by hand: (1·36 + 3·4)/4 = 12 mW², and a study without repeats
// or with another's figure only adds nothing.
func TestCarryOverPools(t *testing.T) {
	of := func(own, dof, sd float64) *Tally {
		return &Tally{Sittings: SittingEffect{Own: own, OwnDOF: dof, SD: sd, DOF: dof + 5}}
	}
	c := CarryOver([]Source{{"spring", of(36e-6, 1, 0.1)}, {"summer", of(4e-6, 3, 0.1)}, {"no repeats", of(0, 0, 0.1)}})
	if c == nil || c.DOF != 4 {
		t.Fatalf("%+v", c)
	}
	near(t, "standard deviation", c.SD.Value(), math.Sqrt(12e-6), 2e-3) // three digits are written
	if c.From != "spring (6.00 mW with 1 degree of freedom) and summer (2.00 mW with 3 degrees of freedom)" {
		t.Errorf("from %q", c.From)
	}
	if c := CarryOver([]Source{{"calm", of(-9e-6, 2, 0)}}); c == nil || c.SD.Value() != 0 || c.DOF != 2 {
		t.Errorf("a variance below zero: %+v", c)
	}
	if c := CarryOver([]Source{{"no repeats", of(0, 0, 0)}}); c != nil {
		t.Errorf("taken over from nothing: %+v", c)
	}
}
