package trace

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// An Alignment says how the clock of one log is brought to that of another: add Offset to the times of
// the second.
type Alignment struct {
	Offset float64 // seconds
	U      float64 // standard uncertainty
	Method string
	// Of cross-correlation: its height at the best lag and at the best one elsewhere.
	Peak, Second float64
	Warnings     []string
}

// ByOffset aligns by an offset that is known, with its standard uncertainty.
func ByOffset(offset, u float64) (Alignment, error) {
	if offset-offset != 0 || !(u >= 0) || math.IsInf(u, 0) {
		return Alignment{}, fmt.Errorf("offset %g s ± %g s", offset, u)
	}
	return Alignment{Offset: offset, U: u, Method: "offset given"}, nil
}

// ByMark aligns by one event seen in both logs at times a and b of their own clocks. An event falls
// anywhere between two samples, so each time has a rectangular uncertainty of its sampling step.
func ByMark(a, b float64, stepA, stepB float64) (Alignment, error) {
	if a-a != 0 || b-b != 0 || !(stepA > 0) || !(stepB > 0) || math.IsInf(stepA+stepB, 0) {
		return Alignment{}, fmt.Errorf("mark at %g s and %g s, steps %g s and %g s", a, b, stepA, stepB)
	}
	return Alignment{Offset: a - b, U: math.Sqrt((stepA*stepA + stepB*stepB) / 12), Method: "common mark"}, nil
}

// CorrelateOptions choose where the lag is sought; the zero value is usable.
type CorrelateOptions struct {
	// MaxLag bounds the offset, in seconds either way; 0 means half the shorter record.
	MaxLag float64
	// Step is the grid both are brought to; 0 means the larger of the two sampling steps.
	Step float64
}

// gridPoints bounds the grid of a cross-correlation.
const gridPoints = 1 << 20

var errNoLag = errors.New("no lag stands out: the records have no common event, or too little of one")

// ByCorrelation finds the offset at which b best repeats a, up to scale, level and sign: the normalised
// cross-correlation of the two on a common grid that explains most, placed between grid points by a
// parabola.
//
// Its uncertainty is that of a least-squares shift of a known shape, u² = σ²F/Σ(x′)², with σ² what the
// best lag leaves unexplained and F its inflation by correlation, and one rectangular sampling step of
// either log, as for a mark. It fails when no lag stands out.
func ByCorrelation(a, b *Series, opt CorrelateOptions) (Alignment, error) {
	step := opt.Step
	if step == 0 {
		step = max(a.Step(), b.Step())
	}
	lag := opt.MaxLag
	if lag == 0 {
		lag = min(a.Span(), b.Span()) / 2
	}
	if !(step > 0) || !(lag > 0) || lag < 2*step {
		return Alignment{}, fmt.Errorf("align: step %g s, largest lag %g s", step, lag)
	}
	if (a.Span()+b.Span())/step > gridPoints {
		return Alignment{}, fmt.Errorf("align: a step of %g s makes over %d points; choose a longer one", step, gridPoints)
	}
	x, err := onGrid(a, step)
	if err != nil {
		return Alignment{}, err
	}
	y, err := onGrid(b, step)
	if err != nil {
		return Alignment{}, err
	}
	// Times of b begin at its own first sample: shift is what that adds to the lag.
	shift := a.T[0] - b.T[0]
	limit := int(math.Ceil((lag + math.Abs(shift)) / step))
	r := crossCorrelation(x, y, limit)
	at, most := -1, 0.0
	for k := range r {
		offset := float64(k-limit)*step + shift
		if g := gain(x, y, k-limit, r[k]); math.Abs(offset) <= lag+step && (at < 0 || g > most) {
			at, most = k, g
		}
	}
	for at > 0 && at < len(r)-1 && max(math.Abs(r[at-1]), math.Abs(r[at+1])) > math.Abs(r[at]) {
		if math.Abs(r[at+1]) > math.Abs(r[at-1]) { // the top of the same peak
			at++
		} else {
			at--
		}
	}
	if at < 1 || at > len(r)-2 || r[at] == 0 {
		return Alignment{}, fmt.Errorf("align: %w", errNoLag)
	}
	out := Alignment{Method: "cross-correlation", Peak: r[at]}
	frac := vertex(r, at, len(x))
	out.Offset = (float64(at-limit)+frac)*step + shift
	out.Second = secondPeak(x, y, r, at, limit)
	u := lagUncertainty(x, y, at-limit, step)
	out.U = math.Sqrt(u*u + (a.Step()*a.Step()+b.Step()*b.Step())/12)
	if z := significance(x, y, at-limit); z < minSignificance {
		return Alignment{}, fmt.Errorf("align: %w (correlation %.2f, %.1f standard deviations)", errNoLag, r[at], z)
	}
	if math.Abs(out.Second) > 0.9*math.Abs(out.Peak) {
		out.Warnings = append(out.Warnings, fmt.Sprintf("another lag fits nearly as well (%.3f beside %.3f): a periodic signal does not settle the offset", out.Second, out.Peak))
	}
	if r[at] < 0 {
		out.Warnings = append(out.Warnings, "one record is the other upside down")
	}
	return out, nil
}

// onGrid averages s over steps from its first sample and takes off the mean; gaps become zero.
func onGrid(s *Series, step float64) ([]float64, error) {
	g, err := s.Grid(s.T[0], step, max(int(s.Span()/step), 1))
	if err != nil {
		return nil, err
	}
	m := MomentsOf(g.V)
	if m.N < 8 || !(m.SD() > 0) {
		return nil, fmt.Errorf("align: %q has no event: %w", s.Name, errNoLag)
	}
	for i, v := range g.V {
		g.V[i] = 0
		if v-v == 0 {
			g.V[i] = v - m.Mean()
		}
	}
	return g.V, nil
}

// crossCorrelation returns the correlation of x[i+k] and y[i] over the part that overlaps, for k from −limit
// to limit. Overlaps below a quarter of the shorter record count as zero: few points
// agree by chance.
func crossCorrelation(x, y []float64, limit int) []float64 {
	size := fastLength(len(x) + len(y) + 1)
	fft := fourier.NewFFT(size)
	pad := func(v []float64) []complex128 {
		p := make([]float64, size)
		copy(p, v)
		return fft.Coefficients(nil, p)
	}
	cx, cy := pad(x), pad(y)
	for i := range cx {
		cx[i] *= complex(real(cy[i]), -imag(cy[i]))
	}
	c := fft.Sequence(nil, cx)
	tx, sx := runningSums(x)
	ty, sy := runningSums(y)
	shorter := min(len(x), len(y))
	out := make([]float64, 2*limit+1)
	for k := -limit; k <= limit; k++ {
		from, to := max(0, -k), min(len(y), len(x)-k) // of y
		if to-from < max(shorter/4, 4) {
			continue
		}
		// The means of the overlap, not of the records, are what the correlation is about.
		n := float64(to - from)
		mx, my := (tx[to+k]-tx[from+k])/n, (ty[to]-ty[from])/n
		norm := math.Sqrt(max(sx[to+k]-sx[from+k]-n*mx*mx, 0) * max(sy[to]-sy[from]-n*my*my, 0))
		if norm > 1e-9*math.Sqrt(sx[len(x)]*sy[len(y)]) {
			out[k+limit] = max(min((c[(k+size)%size]/float64(size)-n*mx*my)/norm, 1), -1)
		}
	}
	return out
}

// vertex returns where the peak at r[at] has its top, in points from at: the vertex of a least-squares
// parabola over as many points to either side as the peak needs to fall clearly, by four times the scatter
// (1−r²)/√n of a correlation, so that the noise of three points doesn't decide.
func vertex(r []float64, at, n int) float64 {
	top := math.Abs(r[at])
	fall := 4 * (1 - top*top) / math.Sqrt(float64(n))
	h := 1
	for at-h > 0 && at+h < len(r)-1 && h < n/8 && max(math.Abs(r[at-h]), math.Abs(r[at+h])) > top-fall {
		h++
	}
	var s2, s4, y0, y1, y2 float64
	for i := -h; i <= h; i++ {
		x := float64(i)
		y := math.Abs(r[at+i])
		s2 += x * x
		s4 += x * x * x * x
		y0 += y
		y1 += x * y
		y2 += x * x * y
	}
	k := float64(2*h + 1)
	curve := (k*y2 - s2*y0) / (k*s4 - s2*s2)
	if curve >= 0 {
		return 0
	}
	return max(min(-y1/s2/(2*curve), float64(h)), -float64(h))
}

// gain returns the gain in log likelihood, n·ln(1/(1−r²)), of a correlation r over the overlap at lag k:
// a good match over a long stretch counts for more than a better one over a short.
func gain(x, y []float64, k int, r float64) float64 {
	n := max(min(len(y), len(x)-k)-max(0, -k), 0)
	return -float64(n) * math.Log1p(-min(r*r, 1-1e-15))
}

// runningSums returns the sums of v and of its squares up to each index.
func runningSums(v []float64) (sum, squares []float64) {
	sum, squares = make([]float64, len(v)+1), make([]float64, len(v)+1)
	for i, x := range v {
		sum[i+1] = sum[i] + x
		squares[i+1] = squares[i] + x*x
	}
	return sum, squares
}

// secondPeak returns the correlation that explains most beyond the nearest minima on both sides of the
// best, over overlaps at least half as long.
func secondPeak(x, y, r []float64, at, limit int) float64 {
	lo, hi := at, at
	for lo > 0 && math.Abs(r[lo-1]) < math.Abs(r[lo]) {
		lo--
	}
	for hi < len(r)-1 && math.Abs(r[hi+1]) < math.Abs(r[hi]) {
		hi++
	}
	length := func(k int) int { return min(len(y), len(x)-k+limit) - max(0, limit-k) }
	best := 0.0
	for k, c := range r {
		if (k < lo || k > hi) && 2*length(k) >= length(at) && math.Abs(c) > math.Abs(best) {
			best = c
		}
	}
	return best
}

// lagUncertainty returns the standard uncertainty of the lag k in seconds.
func lagUncertainty(x, y []float64, k int, step float64) float64 {
	a, b := overlap(x, y, k)
	if len(a) < 8 {
		return math.Inf(1)
	}
	var aa, ab float64
	for i := range a {
		aa += a[i] * a[i]
		ab += a[i] * b[i]
	}
	g := ab / aa
	rest := make([]float64, len(a))
	slope := 0.0
	for i := range a {
		rest[i] = b[i] - g*a[i]
		if i > 0 && i+1 < len(a) {
			d := g * (a[i+1] - a[i-1]) / (2 * step)
			slope += d * d
		}
	}
	m := MomentsOf(rest)
	// Noise in a makes its slopes look steeper than they are; half the residual variance is its own.
	slope = max(slope-m.Var()/2*float64(len(a))/(2*step*step), slope/10)
	return math.Sqrt(m.Var() * Correlate(rest).Inflation / slope)
}

// overlap returns the parts of x and y that stand side by side at lag k, less their means.
func overlap(x, y []float64, k int) (a, b []float64) {
	from, to := max(0, -k), min(len(y), len(x)-k)
	if to <= from {
		return nil, nil
	}
	return centred(x[from+k : to+k]), centred(y[from:to])
}

func centred(v []float64) []float64 {
	m := MomentsOf(v).Mean()
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = x - m
	}
	return out
}

// minSignificance is how many standard deviations the best of all lags must stand out: at five, chance
// among a million lags has about one in two to bring one forth, among the usual thousands none.
const minSignificance = 5

// significance returns by how many standard deviations the correlation at lag k exceeds chance. Smooth
// records correlate by chance: Bartlett's formula var r = Σ ρx(k)ρy(k)/n allows for it. Records with few
// steps fail that; their differences over d points, of which every dth is nearly independent, show
// whether the steps fall together.
func significance(x, y []float64, k int) float64 {
	z := 0.0
	if a, b := overlap(x, y, k); len(a) >= 8 {
		ra, rb := autocorrelation(a), autocorrelation(b)
		sum := 1.0
		for i := 1; i < len(ra)/4; i++ {
			sum += 2 * ra[i] * rb[i]
		}
		z = zOf(a, b) * math.Sqrt(1/max(sum, 1))
	}
	for d := 1; d <= min(len(x), len(y))/16; d *= 2 {
		if a, b := overlap(differences(x, d), differences(y, d), k); len(a) >= 8 {
			z = max(z, zOf(a, b)/math.Sqrt(float64(d)))
		}
	}
	return z
}

// zOf returns |r|·√n of a and b, whose means are zero.
func zOf(a, b []float64) float64 {
	var aa, ab, bb float64
	for i := range a {
		aa += a[i] * a[i]
		ab += a[i] * b[i]
		bb += b[i] * b[i]
	}
	if aa*bb == 0 {
		return 0
	}
	return math.Abs(ab) / math.Sqrt(aa*bb) * math.Sqrt(float64(len(a)))
}

// differences returns v[i+d] − v[i].
func differences(v []float64, d int) []float64 {
	out := make([]float64, len(v)-d)
	for i := range out {
		out[i] = v[i+d] - v[i]
	}
	return out
}
