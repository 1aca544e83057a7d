package trace

import (
	"fmt"
	"math"

	"railtally/internal/quantity"
)

// A Criterion says when a window counts as steady. Its source is shown beside its verdict.
type Criterion struct {
	Name   string
	Source string
	check  func(w *Series) Verdict
}

// A Verdict is what a criterion says of a window.
type Verdict struct {
	Steady bool
	Value  float64 // what was compared, in Unit
	U      float64 // its standard uncertainty, NaN where none is stated
	Limit  float64
	Unit   string
	Why    string
}

// Check applies the criterion to all of w.
func (c Criterion) Check(w *Series) Verdict {
	_, v := w.finite()
	if len(v) < 4 {
		return Verdict{U: math.NaN(), Why: fmt.Sprintf("%d samples are too few", len(v))}
	}
	return c.check(w)
}

// Criteria returns those that can be chosen, the one for short records first.
func Criteria() []Criterion {
	return []Criterion{HalfMeans(0.01), StandbySlope(), StandbySpread()}
}

// HalfMeans calls a window steady when the means of its two halves differ by no more than limit
// (relative to the mean), or by no more than their difference's expanded uncertainty (k = 2). It is for
// records too short for a slope per hour.
func HalfMeans(limit float64) Criterion {
	return Criterion{
		Name:   fmt.Sprintf("halves within %g %%", limit*100),
		Source: "common practice, no source",
		check: func(w *Series) Verdict {
			_, v := w.finite()
			h := len(v) / 2
			a, b := v[:h], v[len(v)-h:]
			ma, mb := MomentsOf(a), MomentsOf(b)
			u := math.Sqrt(ma.Var()*Correlate(a).Inflation/float64(h) + mb.Var()*Correlate(b).Inflation/float64(h))
			d := mb.Mean() - ma.Mean()
			out := Verdict{Value: d, U: u, Unit: w.Unit.Symbol()}
			out.Limit = max(limit*math.Abs(MomentsOf(v).Mean()), 2*u)
			out.Steady = math.Abs(d) <= out.Limit
			way := "higher"
			if d < 0 {
				way = "lower"
			}
			out.Why = fmt.Sprintf("the second half is %s %s than the first; the limit is %s",
				quantity.Format(math.Abs(d), w.Unit, 2), way, quantity.Format(out.Limit, w.Unit, 2))
			return out
		},
	}
}

// Figures of IEC 62301 edition 2 (2011), sampling method, from memory: a record of 15 min or more, of
// which the first third is discarded; over the last two thirds the least-squares slope is below 10 mW/h
// for powers up to 1 W, below 1 % of the power per hour above.
const (
	standbyRecord  = 15 * 60.0
	standbyDiscard = 1.0 / 3
	standbySmall   = 1.0   // W
	standbySlope   = 0.010 // W/h up to standbySmall
	standbyShare   = 0.01  // of the power per hour above
)

// StandbySlope is the stability criterion of the standard for standby power, sampling method. The standard
// is about power from the mains: here it is borrowed for its method, and no conformity follows. A current
// or a voltage is held to the relative limit alone.
func StandbySlope() Criterion {
	return Criterion{
		Name:   "slope below 1 % an hour",
		Source: "IEC 62301 ed. 2, sampling method; from memory, method borrowed, no conformity claimed",
		check: func(w *Series) Verdict {
			if span := w.Span() + w.Step(); span < standbyRecord {
				return Verdict{Value: span, U: math.NaN(), Limit: standbyRecord, Unit: "s",
					Why: fmt.Sprintf("the record is %.0f s long; 15 min are wanted", span)}
			}
			tail := w.slice(w.Index(w.T[0]+standbyDiscard*w.Span()), len(w.T))
			t, v := tail.finite()
			if len(v) < 4 {
				return Verdict{U: math.NaN(), Why: "too few samples in the last two thirds"}
			}
			tr := trend(t, v)
			level := math.Abs(MomentsOf(v).Mean())
			out := Verdict{Value: tr.PerSecond * 3600, U: tr.U * 3600, Limit: standbyShare * level, Unit: w.Unit.Symbol() + "/h"}
			if w.Unit == quantity.Watt && level <= standbySmall {
				out.Limit = standbySlope
			}
			out.Steady = math.Abs(out.Value) < out.Limit
			out.Why = fmt.Sprintf("the slope over the last two thirds is %.2g %s ± %.1g (k = 1); the limit is %.2g",
				out.Value, out.Unit, out.U, out.Limit)
			return out
		},
	}
}

// StandbySpread is the older criterion of the same standard: readings stay within 5 % of their mean
// over 5 min.
func StandbySpread() Criterion {
	const span, share = 300.0, 0.05
	return Criterion{
		Name:   "within 5 % over 5 min",
		Source: "IEC 62301 ed. 1 as a public summary gives it; method borrowed, no conformity claimed",
		check: func(w *Series) Verdict {
			if w.Span()+w.Step() < span {
				return Verdict{Value: w.Span(), U: math.NaN(), Limit: span, Unit: "s",
					Why: fmt.Sprintf("the window is %.0f s long; 5 min are wanted", w.Span())}
			}
			m := MomentsOf(w.V)
			out := Verdict{Value: max(m.Max-m.Mean(), m.Mean()-m.Min), U: math.NaN(), Limit: share * math.Abs(m.Mean()), Unit: w.Unit.Symbol()}
			out.Steady = out.Value < out.Limit
			out.Why = fmt.Sprintf("the furthest sample is %s from the mean; the limit is %s",
				quantity.Format(out.Value, w.Unit, 2), quantity.Format(out.Limit, w.Unit, 2))
			return out
		},
	}
}
