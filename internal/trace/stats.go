package trace

import (
	"fmt"
	"math"

	"railtally/internal/quantity"
)

// A Reading is what a window of a trace contributes to a study.
type Reading struct {
	Mean float64 // SI
	U    float64 // standard uncertainty of the mean from scatter alone
	DOF  float64 // degrees of freedom of U
	N    int     // samples averaged
	Neff float64 // independent samples that would tell as much
}

// A Trend is the least-squares line through a window.
type Trend struct {
	PerSecond float64 // slope
	U         float64 // its standard uncertainty, correlation of the residuals respected
	DOF       float64
	Change    float64 // slope times span of the window
}

// Batches are the means of equal parts of a window, whose scatter checks U.
type Batches struct {
	Count int
	U     float64 // standard uncertainty of the mean from their scatter
	DOF   float64
}

// Stats are the statistics of one window.
type Stats struct {
	Moments
	Correlation
	U        float64 // standard uncertainty of the mean: s √(F/n)
	UNaive   float64 // s/√n, for comparison only
	Batches  Batches
	Trend    Trend
	Allan    []AllanPoint
	Period   *Period // nil when no period stands out
	Step     float64 // smallest step between samples, the meter's digit; 0 when all are equal
	Span     float64 // seconds
	Gaps     []Gap
	Warnings []string
}

// Reading returns the window's mean and uncertainty as an input of a study.
func (s *Stats) Reading() Reading {
	return Reading{Mean: s.Mean(), U: s.U, DOF: s.Correlation.DOF, N: int(s.N), Neff: s.Neff}
}

// Summarise returns the statistics of all of w. It fails when no sample is finite.
//
// Correlation, batches and Allan deviation count by samples: they suppose even spacing, and a gap or
// a missing sample is closed up. A mean whose samples all show the same value has the uncertainty of
// the meter's digit, which is not in the trace: U is 0 and a warning says so.
func Summarise(w *Series) (*Stats, error) {
	t, v := w.finite()
	if len(v) == 0 {
		return nil, fmt.Errorf("statistics of %s: %w", w.Name, errNoSamples)
	}
	s := &Stats{Moments: MomentsOf(w.V), Correlation: Correlate(v), Span: w.Span(), Gaps: w.Gaps(), Step: SmallestStep(v)}
	if len(v) == 1 {
		s.U, s.UNaive = math.Inf(1), math.Inf(1)
		s.warn("one sample: its scatter is not known")
		return s, nil
	}
	n := float64(len(v))
	s.UNaive = s.SD() / math.Sqrt(n)
	s.U = s.UNaive * math.Sqrt(s.Inflation)
	s.Batches = batchMeans(v)
	s.Trend = trend(t, v)
	var err error
	if s.Allan, err = Allan(v, w.Step()); err != nil {
		return nil, err
	}
	if p, err := FindPeriod(w); err == nil {
		s.Period = p
	}
	s.judge(w.Unit)
	return s, nil
}

func (s *Stats) warn(format string, args ...any) {
	s.Warnings = append(s.Warnings, fmt.Sprintf(format, args...))
}

// judge says what the reader of the mean must know.
func (s *Stats) judge(u quantity.Unit) {
	if k := s.Overloads(); k > 0 {
		s.warn("%d of %d samples were beyond the meter's range: the mean of the rest is biased", k, s.Samples())
	}
	if s.Missing > 0 {
		s.warn("%d of %d samples are missing", s.Missing, s.Samples())
	}
	if k := len(s.Gaps); k > 0 {
		s.warn("%d gaps, the largest %.3g s", k, largest(s.Gaps))
	}
	if s.Step == 0 {
		s.warn("all samples are equal: the uncertainty is that of the meter's last digit")
	}
	if s.Short {
		s.warn("the window holds only %.0f independent samples: its uncertainty is itself uncertain, record longer", s.Neff)
	}
	if s.Batches.Count > 0 && s.U > 0 {
		// Both are estimates of one variance: their ratio is compared with F at 0.1 % on either side,
		// as if they were independent, which makes the check lenient.
		ratio := s.Batches.U / s.U
		if limit := math.Sqrt(fQuantile(0.999, s.Batches.DOF, s.Correlation.DOF)); ratio > limit {
			s.warn("batch means scatter %.2g times as much as the correlation tells: slow drift", ratio)
		}
	}
	if p := s.Period; p != nil && p.Cycles < EnoughCycles {
		s.warn("the window holds %.1f cycles of %.3g s; %d or more are wanted: the unfinished one may move the mean by %s", p.Cycles, p.Seconds, EnoughCycles, quantity.Format(p.Bias, u, 2))
	} else if p != nil && p.Bias > s.U/2 {
		s.warn("the unfinished cycle of %.3g s may move the mean by %s", p.Seconds, quantity.Format(p.Bias, u, 2))
	}
	if s.Trend.U > 0 && math.Abs(s.Trend.PerSecond) > tQuantile(0.995, s.Trend.DOF)*s.Trend.U {
		s.warn("drifts by %s over the window (%.2g standard uncertainties of the mean)",
			quantity.Format(s.Trend.Change, u, 2), math.Abs(s.Trend.Change)/s.U)
	}
}

func largest(gaps []Gap) float64 {
	most := 0.0
	for _, g := range gaps {
		most = max(most, g.To-g.From)
	}
	return most
}

// batchMeans splits v into about √n parts, 32 at most, and takes the scatter of their means.
func batchMeans(v []float64) Batches {
	k := min(int(math.Sqrt(float64(len(v)))), 32)
	if k < 4 {
		return Batches{}
	}
	means := groupMeans(v, len(v)/k)[:k]
	u := MomentsOf(means).SD() / math.Sqrt(float64(k))
	return Batches{Count: k, U: u, DOF: float64(k - 1)}
}

// trend fits a line to v over t and inflates the uncertainty of its slope by the correlation of the
// residuals, as the mean's is.
func trend(t, v []float64) Trend {
	n := len(t)
	tm, vm := MomentsOf(t), MomentsOf(v)
	sxx := tm.SumHigh
	if n < 3 || sxx <= 0 {
		return Trend{}
	}
	t0, v0 := tm.Mean(), vm.Mean()
	sxy := 0.0
	for i := range t {
		sxy += (t[i] - t0) * (v[i] - v0)
	}
	slope := sxy / sxx
	residual := make([]float64, n)
	rss := 0.0
	for i := range t {
		residual[i] = (v[i] - v0) - slope*(t[i]-t0)
		rss += residual[i] * residual[i]
	}
	c := Correlate(residual)
	dof := max(c.DOF-1, 1)
	u := math.Sqrt(rss / float64(n-2) / sxx * c.Inflation)
	return Trend{PerSecond: slope, U: u, DOF: dof, Change: slope * (t[n-1] - t[0])}
}
