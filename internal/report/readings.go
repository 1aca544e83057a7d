package report

import (
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// reading is one value that was written down, and what it came to.
type reading struct {
	Sitting string
	Step    string // time or place in the order of work
	What    string // "current", "current of left", "voltage"
	Written string
	On      string // meter and range
	Zero    string
	Turns   string
	Gives   string
	Note    string
}

// readings lists what a rail's figures were computed from, in the order in
// which it was read.
func (a *assembler) readings(s *tally.State, r *tally.Rail) ([]reading, error) {
	var out []reading
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r.Rail {
				continue
			}
			for _, v := range rt.Visits {
				rs, err := a.visit(tk.Sitting, r, v)
				if err != nil {
					return nil, err
				}
				out = append(out, rs...)
			}
		}
	}
	return out, nil
}

func (a *assembler) visit(sit *study.Sitting, r *tally.Rail, v tally.Visit) ([]reading, error) {
	step := sit.Steps[v.Step]
	place := a.stepText(v.Step)
	if !step.At.IsZero() {
		place = step.At.Format("15:04")
	}
	var out []reading
	for _, c := range v.Taps {
		f, err := a.t.Figure(c.Value)
		if err != nil {
			return nil, err
		}
		x := reading{
			Sitting: sit.Name, Step: place, What: a.say("current"), Written: a.inWords(c.Reading.Entry),
			On: onRange(c), Zero: a.zeroText(c), Gives: a.stated(f, quantity.Ampere), Note: a.prose(v.Note),
		}
		if c.Tap.Name != "" {
			x.What = a.say("current of %s", c.Tap.Name)
		}
		if back := backOf(step, r.Name, c.Tap); back != nil {
			x.Written += ", " + a.say("threaded back %s", a.inWords(back.Entry))
			x.Zero = a.say("none needed")
		}
		if c.Tap.Kind == study.TapClamp {
			x.Turns = fmt.Sprint(max(1, c.Tap.Turns))
		}
		out = append(out, x)
	}
	f, err := a.t.Figure(v.Voltage.Value)
	if err != nil {
		return nil, err
	}
	x := reading{Sitting: sit.Name, Step: place, What: a.say("voltage"), Gives: a.stated(f, quantity.Volt)}
	if v.Voltage.Stands {
		x.Written = a.say("not read")
		x.On = a.say("nominal %s", a.nominalText(r.Rail))
	} else {
		x.Written, x.On = a.inWords(v.Voltage.Reading.Entry), onRange(v.Voltage)
		if rr := step.Reading(r.Name); rr != nil && rr.FeedSide {
			x.What = a.say("voltage before the loop")
		}
	}
	return append(out, x), nil
}

// stepText names a step of a sitting by its place in the order of work.
func (t tongue) stepText(i int) string { return t.say("step\u00a0%d", i+1) }

// onRange names the meter and range that showed a reading.
func onRange(s sensing.Sensed) string {
	if s.Range == "" {
		return s.Meter
	}
	return s.Meter + ", " + name(s.Range)
}

func (t tongue) zeroText(c sensing.Sensed) string {
	switch {
	case c.ZeroBefore != nil && c.ZeroAfter != nil:
		return t.say("%s before, %s after", t.inWords(c.ZeroBefore.Reading.Entry), t.inWords(c.ZeroAfter.Reading.Entry))
	case c.ZeroBefore != nil:
		return t.say("%s before", t.inWords(c.ZeroBefore.Reading.Entry))
	case c.ZeroAfter != nil:
		return t.say("%s after", t.inWords(c.ZeroAfter.Reading.Entry))
	}
	return t.say("none")
}

// backOf finds the reading with the wire threaded the other way.
func backOf(step *study.Step, rail string, tap *study.Tap) *study.Reading {
	rr := step.Reading(rail)
	if rr == nil {
		return nil
	}
	for _, c := range rr.Current {
		if c.Tap == tap.Name {
			return c.Back
		}
	}
	return nil
}
