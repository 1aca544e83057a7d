package web

import (
	"slices"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// excerpt is as much of a study as one reading needs: its board, the zeros of
// its sitting, and the reading in its step. Beside it stands the last such
// reading of the sitting, in a state of its own, so that it is compared and not
// taken as a repeat.
type excerpt struct {
	o     *order
	slot  *wanted
	study *study.Study
	step  *study.Step // with the reading
	since string      // the state of the last such reading
}

// earlier is the name of the state that holds the last such reading. No state
// of a record can be called so, because names hold no control characters.
const earlier = "earlier\x00"

func (o *order) excerpt(s *wanted, c candidate, e quantity.Entry) *excerpt {
	x := &excerpt{o: o, slot: s}
	var steps []*study.Step
	var before *study.Step // where the last such reading goes
	var last *study.RailReading
	for _, st := range o.sitting.Steps {
		if s.visit.Step != 0 && o.record.StepOf[st] == s.visit.Step {
			x.step = cloneStep(st)
			steps = append(steps, x.step)
			continue
		}
		cut := &study.Step{At: st.At, Zeros: st.Zeros}
		steps = append(steps, cut)
		if rr := st.Reading(s.Rail); x.step == nil && s.Rail != "" && rr != nil && len(rr.Current) > 0 {
			before, last, x.since = cut, rr, st.State
		}
	}
	if x.step == nil {
		x.step = &study.Step{At: c.At, State: s.visit.State}
		if n := len(steps); n > 0 && x.step.At.Before(steps[n-1].At) {
			x.step.At = steps[n-1].At
		}
		steps = append(steps, x.step)
	}
	x.put(c, e)
	if before != nil {
		before.State, before.Rails = earlier, []*study.RailReading{last}
	}
	sitting := *o.sitting
	sitting.Steps = slices.DeleteFunc(steps, func(st *study.Step) bool {
		return st != x.step && len(st.Zeros) == 0 && len(st.Rails) == 0
	})
	whole := *o.record.Study
	whole.Sittings, whole.Comparisons, whole.Claims = []*study.Sitting{&sitting}, nil, nil
	whole.States = append(slices.Clone(whole.States), &study.State{Name: earlier})
	x.study, _ = notebook.Finished(&whole)
	return x
}

func cloneStep(st *study.Step) *study.Step {
	out := *st
	out.Rails = nil
	for _, r := range st.Rails {
		rr := *r
		rr.Current = nil
		for _, c := range r.Current {
			t := *c
			rr.Current = append(rr.Current, &t)
		}
		out.Rails = append(out.Rails, &rr)
	}
	out.Zeros = slices.Clone(st.Zeros)
	return &out
}

// put writes the candidate into the step.
func (x *excerpt) put(c candidate, e quantity.Entry) {
	s := x.slot
	rd := study.Reading{Entry: e, Meter: c.Meter, Range: c.Range}
	switch s.Kind {
	case notebook.Zero:
		x.step.Zeros = slices.DeleteFunc(x.step.Zeros, s.isZero)
		x.step.Zeros = append(x.step.Zeros, &study.Zero{Instrument: s.Instrument, Range: s.Range, Rail: s.Rail, Tap: s.Tap, Reading: rd})
	case notebook.Current:
		rr := railOf(x.step, s.Rail)
		i := slices.IndexFunc(rr.Current, func(t *study.TapReading) bool { return t.Tap == s.Tap })
		if i < 0 {
			i = len(rr.Current)
			rr.Current = append(rr.Current, &study.TapReading{Tap: s.Tap})
		}
		if s.Back {
			rr.Current[i].Back = &rd
		} else {
			rr.Current[i].Reading = rd
		}
	case notebook.Voltage:
		rr := railOf(x.step, s.Rail)
		rr.Voltage, rr.FeedSide = &rd, c.FeedSide
	case notebook.Temperature:
		x.step.Temperatures = []*study.Named{{Name: s.Name, Reading: rd}}
	case notebook.Throughput:
		x.step.Throughput = &e
	}
}

// isZero tells whether a zero is what the slot takes.
func (s *wanted) isZero(z *study.Zero) bool {
	return z.Rail == s.Rail && z.Tap == s.Tap && z.Instrument == s.Instrument && z.Range == s.Range
}

func railOf(st *study.Step, rail string) *study.RailReading {
	if r := st.Reading(rail); r != nil {
		return r
	}
	r := &study.RailReading{Rail: rail}
	st.Rails = append(st.Rails, r)
	return r
}

// faults are what keeps the excerpt from being computed: what is wrong with the
// plan, or with the reading in its place.
func (x *excerpt) faults() []study.Fault {
	probe := *x.study
	probe.Question = "excerpt"
	probe.States = slices.DeleteFunc(slices.Clone(probe.States), func(st *study.State) bool { return st.Name == earlier })
	sitting := *probe.Sittings[0]
	sitting.Steps = slices.Clone(sitting.Steps)
	for i, st := range sitting.Steps {
		if st.State == earlier {
			sitting.Steps[i] = &study.Step{At: st.At, Zeros: st.Zeros}
		}
	}
	sitting.Steps = slices.DeleteFunc(sitting.Steps, func(st *study.Step) bool { return st.State == "" && len(st.Zeros) == 0 })
	probe.Sittings = []*study.Sitting{&sitting}
	return x.o.hinders(&probe)
}

// hinders lists the faults of a study that keep this board's readings from being
// computed: what is wrong elsewhere in the plan is told there.
func (o *order) hinders(s *study.Study) []study.Fault {
	var out []study.Fault
	for _, f := range study.Check(s) {
		switch f.Path[0] {
		case "boards":
			if len(f.Path) > 1 && f.Path[1] != o.board.Name {
				continue
			}
		case "sittings", "instruments", "factors", "states", "level", "stale zero":
		default:
			continue
		}
		out = append(out, f)
	}
	return out
}
