package tally

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Source is an earlier study with what its own repeats showed of the effect of
// a sitting.
type Source struct {
	Name  string // as it is to be told from others
	Tally *Tally
}

// CarryOver pools what earlier studies found of the effect of a sitting:
// variances weighted by their degrees of freedom, each study's own part only, so
// that nothing is counted twice where one has taken over from another. A sum
// below zero is none. Nil where no study assessed it.
func CarryOver(from []Source) *study.CarriedEffect {
	var sum, dof float64
	var names []string
	for _, s := range from {
		e := s.Tally.Sittings
		if e.OwnDOF == 0 {
			continue
		}
		sum, dof = sum+e.OwnDOF*e.Own, dof+e.OwnDOF
		noun := "degrees"
		if e.OwnDOF == 1 {
			noun = "degree"
		}
		names = append(names, fmt.Sprintf("%s (%s with %g %s of freedom)", strings.TrimSpace(s.Name),
			quantity.Format(math.Sqrt(math.Max(0, e.Own)), quantity.Watt, 3), e.OwnDOF, noun))
	}
	if dof == 0 {
		return nil
	}
	sd := math.Sqrt(math.Max(0, sum/dof))
	// As it is written, so that the record says what is counted with.
	text := quantity.Format(sd, quantity.Watt, 3)
	out := &study.CarriedEffect{DOF: dof, From: quantity.Join(names)}
	if e, err := quantity.Parse(text, quantity.Watt, ""); err == nil {
		out.SD = e
	} else {
		out.SD = quantity.Entry{Values: []float64{sd}, Unit: quantity.Watt}
	}
	return out
}
