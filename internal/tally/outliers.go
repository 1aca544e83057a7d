package tally

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
)

// outlierRisk is how seldom a sound set of values is questioned: 1 % for each
// set of repeats, of which there are many, and for each board's totals.
const outlierRisk = 0.01

// grubbs is F. E. Grubbs' statistic of a set of values, the largest distance
// from their mean in standard deviations, with the place of that value. Fewer
// than four values, or equal ones, have none: at is −1.
func grubbs(xs []float64) (g float64, at int) {
	n := float64(len(xs))
	if n < 4 {
		return 0, -1
	}
	var mean, ss float64
	for _, x := range xs {
		mean += x / n
	}
	for _, x := range xs {
		ss += (x - mean) * (x - mean)
	}
	s := math.Sqrt(ss / (n - 1))
	if s == 0 {
		return 0, -1
	}
	for i, x := range xs {
		if d := math.Abs(x-mean) / s; d > g {
			g, at = d, i
		}
	}
	return g, at
}

// grubbsLimit is the two-sided critical value of Grubbs' statistic of n values:
//
//	G = (n−1)/√n · √(t²/(n−2+t²)),  t the quantile of 1 − risk/(2n) for n−2 degrees of freedom
//
// (F. E. Grubbs, Technometrics 11, 1969; from memory).
func grubbsLimit(count int, risk float64) float64 {
	n := float64(count)
	t := distuv.StudentsT{Sigma: 1, Nu: n - 2}.Quantile(1 - risk/(2*n))
	return (n - 1) / math.Sqrt(n) * math.Sqrt(t*t/(n-2+t*t))
}

// strays questions a repeat that lies far from its fellows. Values are rounded
// to digits, so one that is within two digits of its nearest fellow is never
// questioned. Nothing is left out: the reading stays as it is.
func strays(b *Board) []sensing.Finding {
	var out []sensing.Finding
	limits := map[int]float64{} // by number of repeats: most sets have one of few
	for _, s := range b.States {
		for _, tk := range s.Taken {
			for _, rt := range tk.Rails {
				for _, v := range rt.Visits {
					for i := range len(v.Taps) + 1 {
						c := &v.Voltage
						if i < len(v.Taps) {
							c = &v.Taps[i]
						}
						if f := stray(&c.Reading.Entry, limits); !f.IsZero() {
							out = append(out, sensing.Finding{
								Code: "stray-repeat", Severity: sensing.Doubtful, Board: b.Name, Sitting: tk.Sitting.Name,
								Rail: rt.Rail.Name, States: []string{s.State.Name}, Text: f,
								Do: phrase.New("Look whether it was misread or mistyped, and correct it if so; otherwise let it stand. It was not left out."),
							})
						}
					}
				}
			}
		}
	}
	return out
}

// stray describes the value of a set of repeats that stands apart; "" when
// none does. limits keeps the critical values that were needed so far.
func stray(e *quantity.Entry, limits map[int]float64) phrase.Phrase {
	if e.Kind != quantity.Repeats {
		return phrase.Phrase{}
	}
	g, at := grubbs(e.Values)
	if at < 0 {
		return phrase.Phrase{}
	}
	critical, ok := limits[len(e.Values)]
	if !ok {
		critical = grubbsLimit(len(e.Values), outlierRisk)
		limits[len(e.Values)] = critical
	}
	if g <= critical {
		return phrase.Phrase{}
	}
	nearest := math.Inf(1)
	for i, x := range e.Values {
		if i != at {
			nearest = math.Min(nearest, math.Abs(x-e.Values[at]))
		}
	}
	if nearest <= 2*e.Step*(1+1e-9) {
		return phrase.Phrase{}
	}
	p := quantity.Scale(e.Unit, e.Values...)
	return phrase.New("%s stands apart from the other %d repeats (Grubbs' G = %.2f, above %.2f at a risk of %s).",
		phrase.Number(p.Format(e.Values[at], 4)), len(e.Values)-1, g, critical, phrase.Number(Percent(outlierRisk)))
}

// misfits questions the total that lies farthest from the sum of effects, when
// it lies farther than the largest of so many would by chance (Bonferroni).
func misfits(b *Board) []sensing.Finding {
	e := b.Effects
	if e == nil || len(e.Misfits) == 0 {
		return nil
	}
	m := e.Misfits[0]
	p := 2 * distuv.UnitNormal.CDF(-math.Abs(m.Score)) * float64(len(e.Misfits))
	if p >= outlierRisk {
		return nil
	}
	return []sensing.Finding{{
		Code: "total-misfit", Severity: sensing.Doubtful, Board: b.Name, Sitting: m.Sitting.Name, States: []string{m.On.State},
		Text: phrase.New("This total lies %s off the sum of its factors' effects, %.1f standard deviations of that distance.",
			phrase.Number(quantity.Format(m.Residual, quantity.Watt, 2)), math.Abs(m.Score)),
		Do: phrase.New("Read the state again. If it comes out the same, two factors act together in it, and their effects must not be added. It was not left out."),
	}}
}
