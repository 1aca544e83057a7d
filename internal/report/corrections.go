package report

import (
	"slices"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// corrections says in words what was done to a rail's readings on their way to
// its figures.
func (a *assembler) corrections(s *tally.State, r *tally.Rail) []string {
	var out []string
	say := func(p phrase.Phrase) {
		if text := a.tell(p); !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	if isBounded(r.Rail) {
		say(phrase.New("The rail was not opened. Its current enters as lying anywhere in %s, all places alike.", a.inWords(*r.Bound)))
		return out
	}
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r.Rail {
				continue
			}
			for _, v := range rt.Visits {
				for _, c := range v.Taps {
					a.tapCorrections(say, tk.Sitting, v, r, c)
				}
				a.voltageCorrections(say, tk.Sitting, v, r)
			}
			if len(rt.Visits) > 1 {
				say(phrase.New("Read %d times in %s; the mean is taken.", len(rt.Visits), tk.Sitting.Name))
			}
		}
	}
	if r.Sittings > 1 {
		say(phrase.New("The figures are the mean of %s.", sittingCount(r.Sittings)))
	}
	if away := a.fed(s.Board, r.Rail); len(away) > 0 {
		through, left := a.stated(r.Drawn, quantity.Ampere), a.stated(r.Current, quantity.Ampere)
		if r.Aside {
			say(phrase.New("The current through the tap is %s. What goes to %s is taken off it, and %s is left.", through, away, left))
		} else {
			say(phrase.New("The current through the tap is %s. What goes to %s is taken off it, and %s enters the chip.", through, away, left))
		}
	}
	return out
}

func (a *assembler) tapCorrections(say func(phrase.Phrase), sit *study.Sitting, v tally.Visit, r *tally.Rail, c sensing.Sensed) {
	switch {
	case backOf(sit.Steps[v.Step], r.Name, c.Tap) != nil:
		say(phrase.New("Half the difference of the readings with the wire threaded both ways: no constant offset is left."))
	case c.ZeroBefore != nil && c.ZeroAfter != nil:
		say(phrase.New("The zero at the time of the reading, between the one before and the one after, is taken off."))
	case c.ZeroBefore != nil || c.ZeroAfter != nil:
		say(phrase.New("The zero is taken off."))
	}
	if c.Tap.Kind == study.TapClamp && c.Tap.Turns > 1 {
		say(phrase.New("Divided by %d turns through the jaw.", c.Tap.Turns))
	}
	if c.Tap.Reversed {
		say(phrase.New("The sign is turned, since the sensor sat the other way round."))
	}
	a.factorCorrection(say, c.Tap.Instrument, c.Tap.Range)
	a.factorCorrection(say, c.Meter, c.Range)
	if c.Tap.Winding != nil {
		say(phrase.New("The winding's resistance is taken at %s by copper's temperature coefficient.", phrase.Number(written(*c.Tap.Winding))))
	}
}

func (a *assembler) voltageCorrections(say func(phrase.Phrase), sit *study.Sitting, v tally.Visit, r *tally.Rail) {
	if v.Voltage.Stands {
		return
	}
	a.factorCorrection(say, v.Voltage.Meter, v.Voltage.Range)
	if rr := sit.Steps[v.Step].Reading(r.Name); rr != nil && rr.FeedSide && slices.ContainsFunc(r.Taps, func(t *study.Tap) bool { return t.Loop != nil }) {
		say(phrase.New("The voltage was read before the loop, and the loop's drop is taken off it."))
	}
}

// factorCorrection says that an instrument's readings were multiplied by the
// factor of its calibration.
func (a *assembler) factorCorrection(say func(phrase.Phrase), instrument, rng string) {
	in := a.t.Study.Instrument(instrument)
	if in == nil {
		return
	}
	if c := in.CalibrationOf(in.Range(rng)); c != nil {
		say(phrase.New("Multiplied by %s, the correction factor of %s.", phrase.Number(written(c.Factor)), instrument))
	}
}
