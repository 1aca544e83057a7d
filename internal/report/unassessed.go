package report

import (
	"slices"

	"railtally/internal/study"
)

// notAssessed lists what the study is silent about, so that no reader takes
// silence for a result.
func (a *assembler) notAssessed() []string {
	out := []string{
		a.specimens(),
		a.say("What moves faster than the meters follow. Power is the product of the mean voltage and the mean current of a rail; what ripple of both together adds is not in it."),
		a.say("Anything that reaches the chip by a way that is not a listed rail, such as signal pins."),
	}
	if !a.t.Sittings.Assessed && a.t.Sittings.Carried == nil {
		out = append(out, a.say("What another day at the bench would change: no state was measured in two sittings."))
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
		out = append(out, a.say("The total of %s, where a rail was not read.", incomplete))
	}
	if len(bounded) > 0 {
		out = append(out, a.say("Where between its limits the current of %s lies, and whether it changes with the state.", bounded))
	}
	if untried := a.untried(); len(untried) > 0 {
		out = append(out, a.say("Whether opening its rails changed %s: no reading of its input before and after shows it.", untried))
	}
	if sensed && !looped {
		out = append(out, a.say("What the opened rails' loops do to the voltage at the chip: no loop's size is recorded."))
	} else if looped {
		out = append(out, a.say("What the chip would draw without the loops, which make its voltage sag a little."))
	}
	for _, in := range a.t.Study.Instruments {
		if unknown := a.rangesUnknown(in); len(unknown) > 0 {
			out = append(out, a.say("The error of %s on %s, for which neither an accuracy line nor a calibration is recorded.", in.Name, unknown))
		}
	}
	return out
}

func (a *assembler) specimens() string {
	if len(a.t.Study.Boards) == 1 {
		return a.say("Other specimens. Chips of one type differ; what is said here is said of one.")
	}
	return a.say("Other specimens. Chips of one type differ; what is said here is said of the boards that were measured, one by one.")
}

// rangesUnknown lists the ranges of an instrument about whose error nothing is
// recorded.
func (t tongue) rangesUnknown(in *study.Instrument) []string {
	var out []string
	for _, r := range in.Ranges {
		if r.Spec == nil && in.CalibrationOf(r) == nil {
			name := r.Name
			if name == "" {
				name = t.say("its only range")
			}
			out = append(out, name)
		}
	}
	return slices.Clip(out)
}
