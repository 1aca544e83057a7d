package cooling

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Law is how the rise of one point goes with power: ln rise = C + N·ln(P/P0).
type Law struct {
	P0   float64   // W, the power that the readings are centred on
	C, N gum.Value // C is ln of the rise in K at P0
	Rise tally.Figure
	// Exponent is N; Alone is what the readings say without knowledge
	// beforehand, NaN where they do not.
	Exponent      tally.Figure
	Alone, UAlone float64
	// Beforehand is the part of N that comes from the band, 1 for one reading.
	Beforehand     float64
	BandLo, BandHi float64

	// Scatter is the standard deviation of a single reading about the law, in
	// K, beyond what its display explains; Assessed tells that it was estimated
	// from the residuals. Where it was not, a probe's placing counts as ±1 K
	// (common practice, no source).
	Scatter    float64
	ScatterDOF float64
	Assessed   bool

	Of         string  // the point that was read
	N0         int     // readings used
	PMin, PMax float64 // W, the powers that they cover
	RoomMean   float64 // °C
}

// placing is the half-width, in K, of where a probe comes to sit, until it was
// seen in the scatter of readings (common practice, no source).
const placing = 1.0

// scattered is how many readings are needed to see the scatter about a law of
// two parameters.
const scattered = 4

// fitLaw fits the law of a point to its readings and gives each of them its
// scatter.
//
// It is least squares in ln rise with weights rise², which is least squares in
// kelvins; the band of n is one more observation, weighted by its variance
// against that of a reading. The estimates are one operation on the rises, the
// powers and the band in the graph, so that what they share with other figures
// stays shared; the weights are constants.
func (c *Cooling) fitLaw(b *Board, p *Point) (*Law, error) {
	var used []*Reading
	for _, r := range p.Readings {
		if !r.LeftOut && r.Unsettled == nil {
			used = append(used, r)
		}
	}
	if len(used) == 0 {
		return nil, nil
	}
	l := &Law{Of: p.Name, N0: len(used), PMin: math.Inf(1), Alone: math.NaN(), UAlone: math.NaN()}
	l.BandLo, l.BandHi = exponentBand(b.How.Air)
	var rises, powers []gum.Value
	var y, x, w []float64
	for _, r := range used {
		pw := r.Power.Estimate
		if !(pw > 0) {
			return nil, fmt.Errorf("%s: a power of %g W warms nothing", r.On, pw)
		}
		l.P0 += math.Log(pw) / float64(len(used))
		l.PMin, l.PMax = math.Min(l.PMin, pw), math.Max(l.PMax, pw)
		l.RoomMean += r.Room.Estimate() / float64(len(used))
	}
	l.P0 = math.Exp(l.P0)
	shown := 0.0 // variance that the displays explain
	for _, r := range used {
		x, y = append(x, math.Log(r.Power.Estimate/l.P0)), append(y, math.Log(r.Rise.Estimate))
		w = append(w, r.Rise.Estimate*r.Rise.Estimate)
		rises, powers = append(rises, r.Rise.Value), append(powers, r.Power.Value)
		v, err := c.ownVariance(r)
		if err != nil {
			return nil, err
		}
		shown += v / float64(len(used))
	}
	l.assess(x, y, w, shown)
	rises = c.scatter(p, l, used, rises)

	band := c.bench.once("exponent "+b.Name, gum.Input{Name: b.Name + ": " + CauseExponent, Dist: gum.Rectangular{Lo: l.BandLo, Hi: l.BandHi},
		Tags: tagged(CauseExponent, sensing.TagBoard, b.Name)})
	u0 := (l.BandHi - l.BandLo) / 2 / math.Sqrt(3)
	kappa := (l.Scatter*l.Scatter + shown) / (u0 * u0)
	_, _, sxx := solveLaw(x, y, w, 0, 0)
	l.Beforehand = kappa / (kappa + sxx)
	n := len(used)
	of := func(which int) gum.Value {
		vs := append(append(append([]gum.Value(nil), rises...), powers...), band)
		return custom("law", func(v []float64) float64 {
			yy, xx := make([]float64, n), make([]float64, n)
			for i := range n {
				yy[i], xx[i] = math.Log(v[i]), math.Log(v[n+i]/l.P0)
			}
			c, e, _ := solveLaw(xx, yy, w, v[2*n], kappa)
			if which == 0 {
				return c
			}
			return e
		}, vs...)
	}
	l.C, l.N = of(0), of(1)
	var err error
	if l.Exponent, err = figure(c.Tally.Graph, l.N, c.Level); err != nil {
		return nil, err
	}
	l.Rise, err = figure(c.Tally.Graph, l.C.Exp(), c.Level)
	return l, err
}

// solveLaw is weighted least squares for y = c + n·x with n0 as an observation
// of n of weight kappa; it also gives the spread Σw(x−x̄)².
func solveLaw(x, y, w []float64, n0, kappa float64) (c, n, sxx float64) {
	var sw, mx, my float64
	for i := range x {
		sw += w[i]
		mx += w[i] * x[i]
		my += w[i] * y[i]
	}
	mx, my = mx/sw, my/sw
	var sxy float64
	for i := range x {
		sxx += w[i] * (x[i] - mx) * (x[i] - mx)
		sxy += w[i] * (x[i] - mx) * (y[i] - my)
	}
	n = n0
	if sxx+kappa > 0 {
		n = (sxy + kappa*n0) / (sxx + kappa)
	}
	return my - n*mx, n, sxx
}

// assess estimates the scatter from the residuals of the law alone.
func (l *Law) assess(x, y, w []float64, shown float64) {
	l.Scatter = placing / math.Sqrt(3)
	c, n, sxx := solveLaw(x, y, w, 0, 0)
	spread := l.PMax / l.PMin
	if len(x) < 2 || spread < 1.05 {
		return
	}
	l.Alone = n
	variance := l.Scatter*l.Scatter + shown
	if len(x) >= scattered {
		rss := 0.0
		for i := range x {
			d := y[i] - c - n*x[i]
			rss += w[i] * d * d
		}
		l.Assessed, l.ScatterDOF = true, float64(len(x)-2)
		variance = math.Max(rss/l.ScatterDOF, shown)
		l.Scatter = math.Sqrt(variance - shown)
	}
	l.UAlone = math.Sqrt(variance / sxx)
}

// ownVariance is what the display alone makes uncertain of a reading, in K².
func (c *Cooling) ownVariance(r *Reading) (float64, error) {
	shares, err := c.Tally.Graph.BudgetBy(r.Rise.Value, sensing.TagCause)
	if err != nil {
		return 0, err
	}
	v := 0.0
	for _, s := range shares {
		switch s.Name {
		case sensing.CauseBand, sensing.CauseResolution, CauseSettling:
			v += s.Fraction * r.Rise.U * r.Rise.U
		}
	}
	return v, nil
}

// scatter adds to each rise an input of its own. Estimated together, they are
// one component as far as degrees of freedom go.
func (c *Cooling) scatter(p *Point, l *Law, used []*Reading, rises []gum.Value) []gum.Value {
	for i, r := range used {
		r.scattered = rises[i]
	}
	if l.Scatter == 0 {
		return rises
	}
	in := make([]gum.Input, len(used)+1)
	cov := mat.NewDiagDense(len(in), nil)
	for i := range in {
		name := "the next reading"
		if i < len(used) {
			name = used[i].On.String()
		}
		in[i] = gum.Input{Name: name + ", " + p.Name + ": scatter", Dist: gum.Normal{U: l.Scatter}, Tags: tagged(CausePlacing)}
		cov.SetDiag(i, l.Scatter*l.Scatter)
	}
	vs := c.Tally.Graph.Joint("scatter of "+p.Name, in, cov, l.ScatterDOF)
	out := make([]gum.Value, len(rises))
	for i, r := range rises {
		out[i] = r.Add(vs[i])
		used[i].scattered = out[i]
	}
	p.next = vs[len(used)]
	return out
}

// exponentFinding questions an exponent that natural convection does not give.
func (l *Law) exponentFinding(b *Board, p *Point) (sensing.Finding, bool) {
	if !(l.UAlone < 0.15) {
		return sensing.Finding{}, false
	}
	f := sensing.Finding{Code: "exponent", Severity: sensing.Doubtful, Board: b.Name}
	switch {
	case l.Alone-2*l.UAlone > l.BandHi:
		f.Text = phrase.New("%s rises as power to the %.2f ± %.2f, faster than %s air allows (%.2f to %.2f).", p.Name, l.Alone, 2*l.UAlone, airWord(b.How.Air), l.BandLo, l.BandHi)
		f.Do = phrase.New("Was there a fan or a draught? Then say so under air. Or were the low powers read before they had cooled down?")
	case l.Alone+2*l.UAlone < l.BandLo:
		f.Text = phrase.New("%s rises as power to the %.2f ± %.2f only, slower than any air allows (%.2f to %.2f).", p.Name, l.Alone, 2*l.UAlone, l.BandLo, l.BandHi)
		f.Do = phrase.New("Something else warms it too (other parts, the case), or the high powers were read before they had settled.")
	default:
		return sensing.Finding{}, false
	}
	return f, true
}

func airWord(a study.AirMotion) phrase.Phrase {
	switch a {
	case study.Draught:
		return phrase.New("faintly moving")
	case study.Fan:
		return phrase.New("blown")
	}
	return phrase.New("still")
}
