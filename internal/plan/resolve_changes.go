package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// recorded copies what a change of what was recorded may touch: besides shelf
// and taps, the sittings down to single readings.
func recorded(v variant) variant {
	w := v.clone()
	w.study.Sittings = make([]*study.Sitting, len(v.study.Sittings))
	for i, s := range v.study.Sittings {
		w.study.Sittings[i] = copySitting(s)
	}
	return w
}

func copySitting(s *study.Sitting) *study.Sitting {
	c := *s
	c.Steps = make([]*study.Step, len(s.Steps))
	for i, st := range s.Steps {
		sc := *st
		sc.Zeros = copyZeros(st.Zeros)
		sc.Rails = make([]*study.RailReading, len(st.Rails))
		for j, r := range st.Rails {
			rc := *r
			rc.Current = make([]*study.TapReading, len(r.Current))
			for k, t := range r.Current {
				tc := *t
				rc.Current[k] = &tc
			}
			sc.Rails[j] = &rc
		}
		c.Steps[i] = &sc
	}
	return &c
}

// copyZeros copies zeros: one that is taken again is another reading.
func copyZeros(list []*study.Zero) []*study.Zero {
	out := make([]*study.Zero, len(list))
	for i, z := range list {
		c := *z
		out[i] = &c
	}
	return out
}

// leastPart is the least part of a variance that a cause must make on a rail
// before something is tried against it.
const leastPart = 0.02

// changes are what could be done against the causes that matter.
func (x *Doubt) changes() (out []change) {
	for _, b := range x.study.Boards {
		for _, r := range b.Rails {
			out = append(out, x.moreReadings(b, r)...)
			out = append(out, x.moreTurns(b, r)...)
		}
	}
	if x.part("", "", sensing.CauseZero, sensing.CauseDrift) >= leastPart {
		out = append(out, x.freshZeros())
	}
	for _, n := range []int{1, 3} {
		out = append(out, x.moreSittings(n))
	}
	return append(out, x.shelf()...)
}

// wanted tells whether a step of a sitting is in one of the figure's states.
func (x *Doubt) wanted(s *study.Sitting, st *study.Step) bool {
	return len(st.Rails) > 0 && slices.Contains(x.states, study.StateOn{Board: s.Board, State: st.State})
}

// each visits the readings of a rail in the figure's states.
func (x *Doubt) each(s *study.Study, board, rail string, do func(*study.TapReading)) {
	for _, sit := range s.Sittings {
		if sit.Board != board {
			continue
		}
		for _, st := range sit.Steps {
			if !x.wanted(sit, st) {
				continue
			}
			for _, r := range st.Rails {
				if r.Rail == rail {
					for _, t := range r.Current {
						do(t)
					}
				}
			}
		}
	}
}

// moreReadings writes down more single readings of a rail whose display does not
// stand still, with the scatter that it showed.
func (x *Doubt) moreReadings(b *study.Board, r *study.Rail) (out []change) {
	if x.part(b.Name, r.Name, sensing.CauseScatter, sensing.CauseBand) < leastPart {
		return nil
	}
	most, bands, read := 0, 0, 0
	x.each(x.study, b.Name, r.Name, func(t *study.TapReading) {
		switch t.Reading.Kind {
		case quantity.Repeats:
			most = max(most, len(t.Reading.Values))
			read++
		case quantity.Band:
			bands++
			read++
		}
	})
	for _, times := range []int{3, 10} {
		n := max(10, times*most)
		was := fmt.Sprintf("%d", most)
		if most == 0 {
			was = "a band"
			if times > 3 {
				n = 30
			}
		}
		c := change{kind: MoreRepeats, group: "repeats " + b.Name + "/" + r.Name, effort: time.Minute + time.Duration(n*read)*DefaultTimes().Repeat,
			text: fmt.Sprintf("write down %d readings of %s %s instead of %s", n, b.Name, r.Name, was)}
		if bands > 0 {
			c.assume = "within a band single readings scatter evenly"
		}
		c.apply = func(v *variant) {
			x.each(v.study, b.Name, r.Name, func(t *study.TapReading) {
				t.Reading.Entry = repeated(t.Reading.Entry, n)
				if t.Back != nil {
					back := *t.Back
					back.Entry = repeated(back.Entry, n)
					t.Back = &back
				}
			})
		}
		out = append(out, c)
	}
	return out
}

// repeated is a reading as n single readings of the same mean and scatter. What
// stood still stays.
func repeated(e quantity.Entry, n int) quantity.Entry {
	var sd float64
	switch e.Kind {
	case quantity.Repeats:
		sd = spread(e.Values)
	case quantity.Band:
		sd = (e.Values[1] - e.Values[0]) / (2 * math.Sqrt(3))
	}
	if sd == 0 || len(e.Values) >= n {
		return e
	}
	return quantity.Entry{Kind: quantity.Repeats, Values: pattern(n, e.Value(), sd), Unit: e.Unit, Step: e.Step}
}

// moreTurns passes the wire of a rail more often through its clamp.
func (x *Doubt) moreTurns(b *study.Board, r *study.Rail) (out []change) {
	if x.part(b.Name, r.Name, sensing.CauseResolution, sensing.CauseZero, sensing.CauseDrift, sensing.CauseClampSpec, sensing.CauseMeterSpec) < leastPart {
		return nil
	}
	m := &maker{}
	for i, t := range r.Taps {
		in := x.study.Instrument(t.Instrument)
		if t.Kind != study.TapClamp || in == nil || in.Range(t.Range) == nil || t.MeterRange != "" {
			continue // on a fixed range of the meter more turns may not fit
		}
		rg := in.Range(t.Range)
		through := 0.0
		x.each(x.study, b.Name, r.Name, func(y *study.TapReading) {
			if r.Tap(y.Tap) == t {
				through = max(through, math.Abs(y.Reading.Value())*rg.Scale/float64(max(1, t.Turns)))
			}
		})
		for _, n := range someTurns {
			if n <= t.Turns || through == 0 {
				continue
			}
			loop, cost, ok := m.wound(r, t, n, through, in, rg)
			if !ok {
				continue
			}
			times := float64(n) / float64(max(1, t.Turns))
			where := strings.TrimSpace(b.Name + " " + r.Name + " " + t.Name)
			out = append(out, change{kind: MoreTurns, group: "turns " + where, cost: cost, effort: DefaultTimes().Solder + time.Duration(len(x.states))*DefaultTimes().Reading,
				text: fmt.Sprintf("pass the wire of %s %d times through %s instead of %s", where, n, sensorName(in, t.Range), numeral(t.Turns)),
				apply: func(v *variant) {
					tap := v.study.Board(b.Name).Rail(r.Name).Taps[i]
					tap.Turns, tap.Loop = n, loop
					for _, sit := range v.study.Sittings {
						scaleReadings(sit, b.Name, r.Name, t.Name, times)
					}
				}})
		}
	}
	return out
}

func numeral(n int) string {
	if n <= 1 {
		return "once"
	}
	return fmt.Sprintf("%d", n)
}

// scaleReadings makes every reading of a tap so many times what it was, on
// whatever range shows that.
func scaleReadings(sit *study.Sitting, board, rail, tap string, times float64) {
	if sit.Board != board {
		return
	}
	scaled := func(y study.Reading) study.Reading {
		y.Values = slices.Clone(y.Values)
		for k := range y.Values {
			y.Values[k] *= times
		}
		y.Range = "" // the next that holds it
		return y
	}
	for _, st := range sit.Steps {
		for _, r := range st.Rails {
			if r.Rail != rail {
				continue
			}
			for _, y := range r.Current {
				if y.Tap != tap {
					continue
				}
				y.Reading = scaled(y.Reading)
				if y.Back != nil {
					back := scaled(*y.Back)
					y.Back = &back
				}
			}
		}
	}
}

// freshZeros takes every zero again just before each of the figure's states.
func (x *Doubt) freshZeros() change {
	states := 0
	for _, sit := range x.study.Sittings {
		for _, st := range sit.Steps {
			if x.wanted(sit, st) {
				states++
			}
		}
	}
	return change{kind: MoreZeros, group: "zeros", text: "take a fresh zero just before each of the states", effort: time.Duration(states) * DefaultTimes().Zero,
		apply: func(v *variant) {
			for _, sit := range v.study.Sittings {
				var last []*study.Zero
				for _, st := range sit.Steps {
					for _, z := range st.Zeros {
						i := slices.IndexFunc(last, func(y *study.Zero) bool {
							return y.Instrument == z.Instrument && y.Range == z.Range && y.Rail == z.Rail && y.Tap == z.Tap
						})
						if i < 0 {
							last = append(last, z)
						} else {
							last[i] = z
						}
					}
					if x.wanted(sit, st) && len(st.Zeros) == 0 {
						st.Zeros = copyZeros(last)
					}
				}
			}
		}}
}

// moreSittings measures the figure's states again on other days, each with the
// clamps put on anew.
func (x *Doubt) moreSittings(n int) change {
	t := DefaultTimes()
	text := "measure the same in one more sitting, with the clamps put on anew"
	if n > 1 {
		text = fmt.Sprintf("measure the same in %d more sittings, with the clamps put on anew", n)
	}
	one := t.WarmUp
	for _, b := range x.study.Boards {
		one += time.Duration(len(b.Rails)) * t.Mount
	}
	for range x.states {
		one += t.State + t.Settle
		for _, b := range x.study.Boards {
			one += time.Duration(len(b.Rails)) * t.Reading / time.Duration(len(x.study.Boards))
		}
	}
	assume := ""
	if !x.known {
		assume = "the day itself makes no difference, which is not assessed"
	}
	return change{kind: MoreDays, group: "sittings", text: text, assume: assume, effort: time.Duration(n) * one, apply: func(v *variant) {
		var more []*study.Sitting
		for _, sit := range v.study.Sittings {
			if !x.last(v.study, sit) {
				continue
			}
			for k := range n {
				more = append(more, again(sit, k+1))
			}
		}
		v.study.Sittings = append(v.study.Sittings, more...)
	}}
}

// last tells whether a sitting is the last of its board in which some of the
// figure's states were read.
func (x *Doubt) last(s *study.Study, sit *study.Sitting) bool {
	var last *study.Sitting
	for _, y := range s.Sittings {
		if y.Board == sit.Board && slices.ContainsFunc(y.Steps, func(st *study.Step) bool { return x.wanted(y, st) }) {
			last = y
		}
	}
	return last == sit
}

// again is a sitting as it would be some weeks later.
func again(sit *study.Sitting, weeks int) *study.Sitting {
	c := copySitting(sit)
	c.Name, c.Named = fmt.Sprintf("%s, again %d", sit.Name, weeks), true
	c.On = sit.On.AddDate(0, 0, 7*weeks)
	for _, st := range c.Steps {
		if !st.At.IsZero() {
			st.At = st.At.AddDate(0, 0, 7*weeks)
		}
	}
	return c
}

// shelf are changes of the instruments that readings already taken profit from.
func (x *Doubt) shelf() []change {
	m := &maker{bench: benchOf(x.study, time.Time{})}
	var rails []*study.Rail
	for _, b := range x.study.Boards {
		for _, r := range b.Rails {
			if x.part(b.Name, r.Name, sensing.CausePosition) >= leastPart || x.part("", "", sensing.CauseClampSpec, sensing.CauseCal) >= leastPart {
				rails = append(rails, r)
			}
		}
	}
	return slices.DeleteFunc(m.shelfChanges(variant{study: x.study}, rails), func(c change) bool {
		return c.kind == OtherMeter // it would have to be read again
	})
}
