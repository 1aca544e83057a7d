package acquire

import (
	"math"
	"time"

	"railtally/internal/trace"
)

// Steadiness is the mark beside live digits.
type Steadiness string

// The marks.
const (
	Waiting  Steadiness = "waiting"  // too few readings to tell
	Steady   Steadiness = "steady"   // no drift that matters or stands out
	Drifting Steadiness = "drifting" // changes by more than its noise explains
	Over     Steadiness = "overload" // the last reading was beyond the range
	Silent   Steadiness = "silent"   // no link, or no reading for long
)

// View is what a meter shows at one moment.
type View struct {
	Meter   string
	Linked  bool
	Trouble string    // why there is no link, or what was wrong last; empty: nothing
	Retry   time.Time // when the link is tried again
	Arrived time.Time // of the last answer; zero: none yet

	Last  float64 // NaN before the first
	Count int64   // readings since polling began
	Overs int64
	Lost  int // how often the link was lost

	// Of the readings of the last ten seconds, at least the last sixteen:
	N         int
	Mean      float64
	SD        float64
	PerSecond float64 // slope of the least-squares line
	Change    float64 // by that line, over those readings
	Rate      float64 // readings a second
	Digit     float64 // smallest step between them, the last digit wherever noise covers it; 0: all alike
	Skew      float64 // how far their times may be off, seconds either way
	Mark      Steadiness
}

const (
	viewSpan  = 10.0 // seconds
	viewLeast = 16
	// A drift matters from a thousandth of the mean over the readings shown, and
	// stands out from three standard uncertainties of its slope (common practice,
	// no source).
	driftPart   = 0.001
	driftFactor = 3
	viewGroups  = 32
)

// Digits is how many digits of the last reading the meter gives: down to the
// smallest step seen, six where the readings are all alike.
func (v View) Digits() int {
	const usual, most = 6, 9
	if !(v.Digit > 0) || v.Last == 0 || v.Last-v.Last != 0 {
		return usual
	}
	power := func(x float64) int { return int(math.Floor(math.Log10(math.Abs(x)) + 1e-6)) }
	return min(max(power(v.Last)-power(v.Digit)+1, 1), most)
}

// silentAfter is how long without an answer a meter counts as silent.
func (m *Meter) silentAfter() time.Duration { return m.timeout() + seconds(m.Pause) }

// view works out the view; mu is held.
func (c *channel) view() View {
	st := &c.state
	v := View{Meter: c.meter.Name, Linked: st.session != nil, Trouble: st.trouble, Retry: st.retry, Arrived: st.arrived,
		Last: math.NaN(), Mean: math.NaN(), SD: math.NaN(), Count: st.count, Overs: st.overs, Lost: st.lost, Skew: st.skew, Mark: Waiting}
	n := st.recent.len()
	if n == 0 {
		if v.Trouble != "" {
			v.Mark = Silent
		}
		return v
	}
	newest := st.recent.last()
	v.Last = newest.v
	// A page looks 25 times a second: what is gathered for it uses the same memory again.
	ts, vs := c.looked[0][:0], c.looked[1][:0]
	for k := 0; k < n; k++ {
		x := st.recent.back(k)
		if newest.t-x.t > viewSpan && len(vs) >= viewLeast {
			break
		}
		if x.v-x.v == 0 {
			ts, vs = append(ts, x.t), append(vs, x.v)
		}
	}
	c.looked[0], c.looked[1] = ts, vs
	v.N = len(vs)
	v.Mark = c.steadiness(&v, ts, vs)
	switch {
	case !v.Linked || time.Since(st.arrived) > c.meter.silentAfter():
		v.Mark = Silent
	case math.IsInf(v.Last, 0):
		v.Mark = Over
	}
	return v
}

// steadiness fits a line to means of groups, whose scatter allows for readings
// that repeat each other, and judges its slope.
func (c *channel) steadiness(v *View, ts, vs []float64) Steadiness {
	m := trace.MomentsOf(vs)
	v.Mean, v.SD, v.Digit = m.Mean(), m.SD(), trace.SmallestStep(vs)
	if len(vs) < 2 {
		return Waiting
	}
	span := ts[0] - ts[len(ts)-1] // newest first
	if span > 0 {
		v.Rate = float64(len(vs)-1) / span
	}
	if len(vs) < viewLeast/2 || span <= 0 {
		return Waiting
	}
	size := (len(vs) + viewGroups - 1) / viewGroups
	var gx, gy [viewGroups]float64
	x, y := gx[:0], gy[:0]
	for i := 0; i+size <= len(vs); i += size {
		x = append(x, trace.MomentsOf(ts[i:i+size]).Mean())
		y = append(y, trace.MomentsOf(vs[i:i+size]).Mean())
	}
	slope, u := line(x, y)
	v.PerSecond, v.Change = slope, slope*span
	if math.Abs(v.Change) > driftPart*math.Abs(v.Mean) && math.Abs(slope) > driftFactor*u {
		return Drifting
	}
	return Steady
}

// line is the slope of the least-squares line through points and its standard
// uncertainty from their scatter about it.
func line(x, y []float64) (slope, u float64) {
	n := float64(len(x))
	mx, my := trace.MomentsOf(x).Mean(), trace.MomentsOf(y).Mean()
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	if sxx <= 0 || n < 3 {
		return 0, math.Inf(1)
	}
	slope = sxy / sxx
	rss := 0.0
	for i := range x {
		r := (y[i] - my) - slope*(x[i]-mx)
		rss += r * r
	}
	return slope, math.Sqrt(rss / (n - 2) / sxx)
}
