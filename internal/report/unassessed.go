package report

import (
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// notAssessed lists what the study is silent about, so that no reader takes
// silence for a result.
func (a *assembler) notAssessed() []string {
	out := []string{
		"Other specimens. Chips of one type differ; what is said here is said of " + a.specimens() + ".",
		"What moves faster than the meters follow. Power is the product of the mean voltage and the mean current of a rail; what ripple of both together adds is not in it.",
		"Anything that reaches the chip by a way that is not a listed rail, such as signal pins.",
	}
	if !a.t.Sittings.Assessed && a.t.Sittings.Carried == nil {
		out = append(out, "What another day at the bench would change: no state was measured in two sittings.")
	}
	var incomplete, bounded []string
	var looped, sensed bool
	for _, b := range a.t.Boards {
		for _, s := range b.States {
			if !s.Complete {
				incomplete = append(incomplete, on(s.On()))
			}
		}
		for _, r := range b.Rails {
			if isBounded(r) {
				bounded = append(bounded, b.Name+" "+r.Name)
			}
			for _, t := range r.Taps {
				sensed = true
				looped = looped || t.Loop != nil
			}
		}
	}
	if len(incomplete) > 0 {
		out = append(out, "The total of "+quantity.Join(incomplete)+", where a rail was not read.")
	}
	if len(bounded) > 0 {
		out = append(out, "Where between its limits the current of "+quantity.Join(bounded)+" lies, and whether it changes with the state.")
	}
	if sensed && !looped {
		out = append(out, "What the opened rails' loops do to the voltage at the chip: no loop's size is recorded.")
	} else if looped {
		out = append(out, "What the chip would draw without the loops, which make its voltage sag a little.")
	}
	for _, in := range a.t.Study.Instruments {
		if unknown := rangesUnknown(in); len(unknown) > 0 {
			out = append(out, "The error of "+in.Name+" on "+quantity.Join(unknown)+", for which neither an accuracy line nor a calibration is recorded.")
		}
	}
	return out
}

func (a *assembler) specimens() string {
	if len(a.t.Study.Boards) == 1 {
		return "one"
	}
	return "the boards that were measured, one by one"
}

// rangesUnknown lists the ranges of an instrument about whose error nothing is
// recorded.
func rangesUnknown(in *study.Instrument) []string {
	var out []string
	for _, r := range in.Ranges {
		if r.Spec == nil && in.CalibrationOf(r) == nil {
			name := r.Name
			if name == "" {
				name = "its only range"
			}
			out = append(out, name)
		}
	}
	return slices.Clip(out)
}
