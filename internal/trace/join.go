package trace

import (
	"errors"
	"fmt"
	"math"

	"railtally/internal/quantity"
)

// A Joint is what two channels of different clocks tell together, most often the voltage and the current of
// one rail that two instruments logged.
type Joint struct {
	Alignment
	From, To float64       // what both cover of the window, on the first's clock
	Unit     quantity.Unit // of Power: W of a voltage and a current; None otherwise, and then only the parts mean something
	Power    *Stats        // of the product, sample by sample; its U is from scatter alone
	OfMeans  float64       // product of the means
	Together float64       // mean of the product − product of the means, divisor n
	Pairs    int           // times at which both are finite
	// Share is Together as a part of OfMeans, with its scatter; nil where OfMeans is 0. No scale of either
	// channel changes it.
	Share *Stats
	// UClockPower, UClock and UClockShare are what the alignment's uncertainty adds to the mean of the product,
	// to Together and to Share: standard uncertainties.
	UClockPower, UClock, UClockShare float64
}

// UPower is the standard uncertainty of the mean of the product, from scatter and clocks.
func (j *Joint) UPower() float64 { return math.Hypot(j.Power.U, j.UClockPower) }

// UShare is the standard uncertainty of Share, from scatter and clocks.
func (j *Joint) UShare() float64 {
	if j.Share == nil {
		return math.Inf(1)
	}
	return math.Hypot(j.Share.U, j.UClockShare)
}

// UTogether is the standard uncertainty of Together, from scatter and clocks.
func (j *Joint) UTogether() float64 {
	if j.Share == nil {
		return math.Inf(1)
	}
	return math.Hypot(math.Abs(j.OfMeans)*j.Share.U, j.UClock)
}

// clockSteps is how many offsets to either side of the best one are tried, over clockReach standard
// uncertainties.
const clockSteps, clockReach = 6, 3.0

// Join multiplies a and b over from ≤ t ≤ to of a's clock, b brought to it by al. Samples are paired at the times of
// the faster by the nearest sample of the slower, so that neither is late on average; where none is nearer than
// three steps there is no pair. It fails where no pair is left and where either is beyond its range.
//
// What the offset's uncertainty adds is not a sensitivity times u: an offset that was found where the two agree
// best stands at or near a greatest covariance, where the first derivative vanishes. The window is worked out
// again at offsets up to three standard uncertainties to either side, and the root mean square of the
// change, weighted as a normal distribution, is the part of the clocks (JCGM 101 propagates the distribution
// in the same way; this is its integral by a sum of 13 terms). It includes that a wrong offset of either sign
// makes the covariance smaller.
func (al Alignment) Join(a, b *Series, from, to float64) (*Joint, error) {
	j := &Joint{Alignment: al}
	switch {
	case a.Unit == quantity.Volt && b.Unit == quantity.Ampere, a.Unit == quantity.Ampere && b.Unit == quantity.Volt:
		j.Unit = quantity.Watt
	}
	t, err := commonTimes(a, b.T, al.Offset, from, to)
	if err != nil {
		return nil, err
	}
	x := a.Nearest(t, 0)
	at := func(offset float64) (y []float64) { return b.Nearest(t, offset) }
	y := at(al.Offset)
	over := 0
	var px, py []float64
	p := Series{Name: a.Name + " × " + b.Name, Unit: j.Unit, Origin: a.Origin}
	for k := range t {
		if math.IsInf(x[k], 0) || math.IsInf(y[k], 0) {
			over++
			continue
		}
		if x[k] == x[k] && y[k] == y[k] {
			px, py = append(px, x[k]), append(py, y[k])
			p.T, p.V = append(p.T, t[k]), append(p.V, x[k]*y[k])
		}
	}
	if over > 0 {
		return nil, fmt.Errorf("%d samples are beyond the range of the meter, so the mean would be biased", over)
	}
	if len(p.V) < 2 {
		return nil, errors.New("no times at which both were read")
	}
	j.Pairs, j.From, j.To = len(p.V), p.T[0], p.T[len(p.T)-1]
	if j.Power, err = Summarise(&p); err != nil {
		return nil, err
	}
	best := productOf(px, py)
	j.OfMeans, j.Together = best.of, best.beyond
	if best.of != 0 {
		s := p
		s.Unit, s.V = quantity.None, make([]float64, len(px))
		for k := range px {
			s.V[k] = (px[k] - best.x) * (py[k] - best.y) / best.of
		}
		if j.Share, err = Summarise(&s); err != nil {
			return nil, err
		}
	}
	if !(al.U > 0) {
		return j, nil
	}
	var weights, power, beyond, part float64
	for k := -clockSteps; k <= clockSteps; k++ {
		z := clockReach * float64(k) / clockSteps
		w := math.Exp(-z * z / 2)
		q := productOf(pairsOf(x, at(al.Offset+z*al.U)))
		if q.n < 2 {
			continue
		}
		weights += w
		power += w * sq(q.of+q.beyond-best.of-best.beyond)
		beyond += w * sq(q.beyond-best.beyond)
		if best.of != 0 && q.of != 0 {
			part += w * sq(q.beyond/q.of-best.beyond/best.of)
		}
	}
	j.UClockPower, j.UClock, j.UClockShare = math.Sqrt(power/weights), math.Sqrt(beyond/weights), math.Sqrt(part/weights)
	return j, nil
}

func sq(x float64) float64 { return x * x }

// commonTimes returns the times, on a's clock, of the samples of the faster of two channels between two times
// that both cover.
func commonTimes(a *Series, bt []float64, offset, from, to float64) ([]float64, error) {
	if !(from < to) {
		return nil, fmt.Errorf("from %g s to %g s: the end must be later", from, to)
	}
	from, to = max(from, a.T[0], bt[0]+offset), min(to, a.T[len(a.T)-1], bt[len(bt)-1]+offset)
	if from > to {
		return nil, errors.New("the two do not overlap there")
	}
	b := Series{T: bt}
	i, k := a.Index(from), a.Index(math.Nextafter(to, math.Inf(1)))
	m, n := b.Index(from-offset), b.Index(math.Nextafter(to-offset, math.Inf(1)))
	if k-i >= n-m {
		if i == k {
			return nil, errors.New("no sample in the time both cover")
		}
		return a.T[i:k], nil
	}
	t := make([]float64, n-m)
	for x := range t {
		t[x] = bt[m+x] + offset
	}
	return t, nil
}

// pairsOf keeps what is finite in both.
func pairsOf(x, y []float64) (a, b []float64) {
	for k := range x {
		if x[k]-x[k] == 0 && y[k]-y[k] == 0 {
			a, b = append(a, x[k]), append(b, y[k])
		}
	}
	return a, b
}

// a product is mean(x), mean(y), their product, and what mean(x·y) has beyond it.
type product struct {
	x, y, of, beyond float64
	n                int
}

func productOf(x, y []float64) product {
	p := product{n: len(x)}
	if p.n == 0 {
		return p
	}
	p.x, p.y = MomentsOf(x).Mean(), MomentsOf(y).Mean()
	for k := range x {
		p.beyond += (x[k] - p.x) * (y[k] - p.y)
	}
	p.beyond /= float64(p.n)
	p.of = p.x * p.y
	return p
}
