package trace

import (
	"fmt"
	"math"

	"railtally/fit"
)

// A Kind says what a stretch of a record is.
type Kind string

// Kinds of stretches.
const (
	Steady   Kind = "steady"
	Drifting Kind = "drifting" // the criterion does not hold
	Settling Kind = "settling" // an exponential approach
	Brief    Kind = "brief"    // too short to judge
)

// A Stretch is a part of a record with one behaviour.
type Stretch struct {
	Kind       Kind
	From, To   int     // samples From ≤ i < To
	Start, End float64 // times of its first and last sample
	Mean       float64
	Trend      Trend
	Verdict    Verdict // of the criterion; zero for Settling and Brief
	Approach   *Approach
	// Window is what is proposed for a reading: the stretch less a guard at either end. Only of
	// steady stretches.
	Window *Window
}

// A Window is a proposed part of a record, From ≤ t < To, as Series.Window takes it.
type Window struct{ From, To float64 }

// An Approach is an exponential settling, y = Final + Amplitude·exp(−(t−Start)/Tau).
type Approach struct {
	Final, U       float64
	Tau, UTau      float64
	Amplitude      float64
	Remaining      float64 // Final less the fitted value at the end of the stretch
	Seen           float64 // part of the change within the stretch
	SettledAt      float64 // time at which what remains is no longer material
	SettledAtKnown bool    // within the record
}

// WindowOptions choose how a record is judged; the zero value is usable.
type WindowOptions struct {
	SegmentOptions
	// Criterion is what steady means; its zero value means HalfMeans(0.01).
	Criterion Criterion
	// MinDuration is the shortest stretch that is judged, in seconds; 0 means 30 samples.
	MinDuration float64
}

// Windows cuts a record, names what lies between the cuts and proposes windows for readings.
func Windows(s *Series, opt WindowOptions) ([]Stretch, *Segmentation, error) {
	if opt.Criterion.check == nil {
		opt.Criterion = HalfMeans(0.01)
	}
	if opt.MinDuration == 0 {
		opt.MinDuration = 30 * s.Step()
	}
	if !(opt.MinDuration >= 0) || math.IsInf(opt.MinDuration, 0) {
		return nil, nil, fmt.Errorf("windows: shortest duration %g s", opt.MinDuration)
	}
	g, err := Split(s, opt.SegmentOptions)
	if err != nil {
		return nil, nil, err
	}
	if opt.SegmentOptions, err = opt.SegmentOptions.withDefaults(); err != nil {
		return nil, nil, err
	}
	var out []Stretch
	for _, group := range groups(g.Segments) {
		out = append(out, judge(s, group, g, opt)...)
	}
	return out, g, nil
}

// groups joins segments between which the record bends rather than steps: the jump is less than half of
// what the larger of the two changes by along its line.
func groups(segs []Segment) [][]Segment {
	var out [][]Segment
	for k, s := range segs {
		if k > 0 {
			p := segs[k-1]
			jump := math.Abs(s.AtStart - p.AtEnd)
			along := max(math.Abs(p.AtEnd-p.AtStart), math.Abs(s.AtEnd-s.AtStart))
			if jump < along/2 {
				out[len(out)-1] = append(out[len(out)-1], s)
				continue
			}
		}
		out = append(out, []Segment{s})
	}
	return out
}

// judge names the parts of one group.
func judge(s *Series, group []Segment, g *Segmentation, opt WindowOptions) []Stretch {
	first, last := group[0], group[len(group)-1]
	var out []Stretch
	a := approach(s.slice(first.From, last.To), opt.Material)
	if a == nil {
		for _, seg := range group {
			out = append(out, stretch(s, seg.From, seg.To, g, opt))
		}
		return out
	}
	end := last.To
	if k := s.Index(a.SettledAt); k < last.To && s.T[last.To-1]-a.SettledAt >= opt.MinDuration {
		end = max(k, first.From+1)
		a.SettledAtKnown = true
	}
	st := Stretch{Kind: Settling, From: first.From, To: end, Start: s.T[first.From], End: s.T[end-1], Approach: a}
	st.describe(s)
	out = append(out, st)
	if end < last.To {
		out = append(out, stretch(s, end, last.To, g, opt))
	}
	return out
}

// approachPoints bounds how many points an exponential is fitted to.
const approachPoints = 250

// approach fits an exponential to a part of a record, nil when there is none that matters.
func approach(w *Series, material float64) *Approach {
	t, v := w.finite()
	if len(v) < 16 {
		return nil
	}
	k := (len(v) + approachPoints - 1) / approachPoints
	// Single spikes are clipped as for the cuts.
	y, _ := clipSpikes(v, max(differenceNoise(v), math.SmallestNonzeroFloat64), spikeLimit)
	x, y := groupMeans(t, k), groupMeans(y, k)
	r, err := fit.Settling(x, y, fit.SettlingOptions{})
	if err != nil {
		return nil // fit says why; here it only matters that the record shows no approach
	}
	e := r.Terms[0]
	limit := material * math.Abs(r.Final)
	if math.Abs(e.Amplitude) <= 2*limit || r.Seen < 0.5 {
		return nil
	}
	a := &Approach{Final: r.Final, U: r.U, Tau: e.Tau, UTau: e.UTau, Amplitude: e.Amplitude, Remaining: r.Remaining, Seen: r.Seen}
	a.SettledAt = math.Inf(1)
	if limit > 0 {
		a.SettledAt = r.Start + e.Tau*math.Log(math.Abs(e.Amplitude)/limit)
	}
	return a
}

// stretch judges samples from ≤ i < to by the criterion.
func stretch(s *Series, from, to int, g *Segmentation, opt WindowOptions) Stretch {
	st := Stretch{Kind: Brief, From: from, To: to, Start: s.T[from], End: s.T[to-1]}
	st.describe(s)
	if st.End-st.Start < opt.MinDuration {
		return st
	}
	// The cut may be a few samples off: what lies next to it belongs to neither state.
	guard := min(max(g.Bin, 2), (to-from)/20)
	a, b := from+guard, to-guard
	st.Verdict = opt.Criterion.Check(s.slice(a, b))
	st.Kind = Drifting
	if st.Verdict.Steady {
		st.Kind = Steady
		st.Window = &Window{From: s.T[a], To: s.T[min(b, len(s.T)-1)]}
	}
	return st
}

// describe fills in mean and trend.
func (st *Stretch) describe(s *Series) {
	t, v := s.slice(st.From, st.To).finite()
	st.Mean = MomentsOf(v).Mean()
	st.Trend = trend(t, v)
}
