package trace

import (
	"errors"
	"fmt"
	"math"

	"railtally/internal/quantity"
)

// A Product is the mean power of a rail whose voltage and current were logged together, beside the
// product of their means.
type Product struct {
	Power      *Stats  // of v·i sample by sample
	OfMeans    float64 // mean(v)·mean(i)
	Covariance float64 // mean(v·i) − mean(v)·mean(i), divisor n: what the product of means misses
	Pairs      int     // samples where both are finite
	Held       bool    // the two were not sampled at the same times: the slower was held
}

// Multiply returns statistics of the product of voltage and current over the times both cover. Channels
// sampled at different times are brought to the times of the faster by holding the slower's last
// value; that is right for slow changes of the slower only.
func Multiply(v, i *Series) (*Product, error) {
	if v.Unit != quantity.Volt || i.Unit != quantity.Ampere {
		return nil, fmt.Errorf("product of %s and %s: a voltage and a current are wanted", v.Unit, i.Unit)
	}
	p, held, err := Power(v, i)
	if err != nil {
		return nil, err
	}
	out := &Product{Held: held}
	var a, b []float64
	for k := range p.V {
		if x := p.V[k]; x-x == 0 {
			a, b = append(a, p.volts[k]), append(b, p.amperes[k])
		}
	}
	out.Pairs = len(a)
	if out.Pairs == 0 {
		return nil, errors.New("product: no time at which both were read")
	}
	if out.Power, err = Summarise(&p.Series); err != nil {
		return nil, err
	}
	va, ib := MomentsOf(a), MomentsOf(b)
	out.OfMeans = va.Mean() * ib.Mean()
	v0, i0 := va.Mean(), ib.Mean()
	for k := range a {
		out.Covariance += (a[k] - v0) * (b[k] - i0)
	}
	out.Covariance /= float64(len(a))
	return out, nil
}

// A PowerSeries is v·i with the samples it was made from.
type PowerSeries struct {
	Series
	volts, amperes []float64
}

// Power returns v·i at the times of the faster channel within the time both cover, and whether the
// slower was held to do so. Where either is missing so is the product; where either is overloaded the
// product is an overload.
func Power(v, i *Series) (*PowerSeries, bool, error) {
	if !v.Origin.Equal(i.Origin) {
		return nil, false, errors.New("product: the channels count their times from different origins")
	}
	held := !sameTimes(v.T, i.T)
	if held {
		from, to := max(v.T[0], i.T[0]), min(v.T[len(v.T)-1], i.T[len(i.T)-1])
		if from > to {
			return nil, false, errors.New("product: the channels do not overlap in time")
		}
		fast := i
		if len(v.T) > len(i.T) {
			fast = v
		}
		a := fast.Index(from)
		b := fast.Index(math.Nextafter(to, math.Inf(1)))
		if a >= b {
			return nil, false, errors.New("product: no sample in the time both cover")
		}
		t := fast.T[a:b]
		v, i = v.Hold(t), i.Hold(t)
	}
	p := &PowerSeries{volts: v.V, amperes: i.V}
	p.Series = Series{Name: v.Name + " × " + i.Name, Unit: quantity.Watt, Origin: v.Origin, T: v.T, V: make([]float64, len(v.V))}
	for k, x := range v.V {
		y := i.V[k]
		switch {
		case x != x || y != y:
			p.V[k] = math.NaN()
		case x-x != 0 || y-y != 0:
			p.V[k] = math.Inf(1)
		default:
			p.V[k] = x * y
		}
	}
	return p, held, nil
}

func sameTimes(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	if &a[0] == &b[0] {
		return true
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
