package report

import (
	"math"
	"slices"
	"strconv"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// recordedView lists what was noted beside the rails on one board:
// temperatures and throughput. None of it enters a power.
type recordedView struct {
	Board string
	ID    string
	Heads []string
	Rows  []recordedRow
}

type recordedRow struct {
	State, Sitting, At string
	Cells              []string
}

func (a *assembler) recorded() []*recordedView {
	var out []*recordedView
	for _, b := range a.t.Study.Boards {
		if v := a.recordedOn(b.Name); v != nil {
			out = append(out, v)
		}
	}
	return out
}

func (a *assembler) recordedOn(board string) *recordedView {
	v := &recordedView{Board: board, ID: a.anchors.part("recorded", board)}
	var names []string
	passed := false
	each := func(f func(*study.Sitting, int, *study.Step)) {
		for _, s := range a.t.Study.Sittings {
			for i, st := range s.Steps {
				if s.Board == board && (len(st.Temperatures) > 0 || st.Throughput != nil) {
					f(s, i, st)
				}
			}
		}
	}
	each(func(_ *study.Sitting, _ int, st *study.Step) {
		for _, n := range st.Temperatures {
			if !slices.Contains(names, n.Name) {
				names = append(names, n.Name)
			}
		}
		passed = passed || st.Throughput != nil
	})
	v.Heads = slices.Clone(names)
	if passed {
		v.Heads = append(v.Heads, a.say("throughput"))
	}
	each(func(s *study.Sitting, i int, st *study.Step) {
		row := recordedRow{State: st.State, Sitting: s.Name, At: a.stepText(i)}
		if !st.At.IsZero() {
			row.At = st.At.Format("15:04")
		}
		for _, n := range names {
			row.Cells = append(row.Cells, a.temperature(s, st, n))
		}
		if passed && st.Throughput != nil {
			row.Cells = append(row.Cells, a.withStep(*st.Throughput))
		} else if passed {
			row.Cells = append(row.Cells, "")
		}
		v.Rows = append(v.Rows, row)
	})
	if len(v.Rows) == 0 {
		return nil
	}
	return v
}

// temperature is a temperature as it was written, with the limits of the
// thermometer's accuracy line where none was written beside it.
func (a *assembler) temperature(s *study.Sitting, st *study.Step, name string) string {
	for _, n := range st.Temperatures {
		if n.Name != name {
			continue
		}
		e := n.Reading.Entry
		if e.Tol != nil {
			return a.firm(written(e))
		}
		if half, ok := a.thermometerLimit(s, n.Reading); ok {
			return a.firm(quantity.FormatU(e.Value(), half, quantity.Celsius))
		}
		return a.withStep(e)
	}
	return ""
}

// thermometerLimit is how far the thermometer may be off, with half its last
// digit.
func (a *assembler) thermometerLimit(s *study.Sitting, rd study.Reading) (float64, bool) {
	name := rd.Meter
	if name == "" {
		name = s.Thermometer
	}
	in := a.t.Study.Instrument(name)
	if in == nil {
		return 0, false
	}
	r := in.Range(rd.Range)
	if r == nil {
		r = sensing.SmallestRange(in, quantity.Celsius, math.Abs(rd.Value()))
	}
	if r == nil {
		return 0, false
	}
	room := math.NaN()
	if s.Room != nil {
		room = s.Room.Value()
	}
	l, ok := sensing.LimitsOf(r, room)
	return l.HalfWidth(rd.Value()) + rd.Step/2, ok
}

// withStep is an entry with half its last digit as tolerance, unless it was
// written with a tolerance or as a band.
func (t tongue) withStep(e quantity.Entry) string {
	if e.Tol != nil || e.Kind == quantity.Band || e.Step == 0 {
		return t.inWords(e)
	}
	p := quantity.Scale(e.Unit, e.Value(), e.Step)
	half := p.Number(e.Step/2, 1)
	value := strconv.FormatFloat(p.In(e.Value()), 'f', places(half), 64)
	return t.firm(value + " ± " + half + " " + p.Symbol())
}
