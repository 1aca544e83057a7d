package sensing

import (
	"fmt"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Tags that every input of the model carries, for budgets by instrument, by
// rail and by cause.
const (
	TagInstrument = "instrument"
	TagRail       = "rail"
	TagCause      = "cause"
	TagBoard      = "board"
	TagSitting    = "sitting"
)

// Causes of uncertainty, as a budget lists them.
const (
	CauseClampSpec  = "clamp specification"
	CauseMeterSpec  = "meter specification"
	CauseCal        = "calibration"
	CauseZero       = "zero reading"
	CauseDrift      = "zero drift"
	CausePosition   = "wire position in the jaw"
	CauseResolution = "resolution"
	CauseScatter    = "scatter of repeats"
	CauseBand       = "flicker (band)"
	CauseShunt      = "resistance of the shunt"
	CauseEMF        = "thermal EMF"
	CauseWinding    = "winding temperature"
	CauseNominal    = "voltage not read"
	CauseBound      = "rail not opened"
	CauseOthers     = "other parts on the rail"
	CauseEfficiency = "converter between rails"
	CauseLoop       = "loop resistance"
	CauseSitting    = "sitting-to-sitting effect"
	CauseWindow     = "unfinished period of the load"
	CauseBurst      = "bursts of the load"

	CauseThermometer = "thermometer specification"
)

// Bench records the model of one study's readings in a graph. It is not safe
// for concurrent use.
type Bench struct {
	G        *gum.Graph
	study    *study.Study
	shared   map[sharedKey]gum.Value
	findings []Finding
	noted    map[notedKey]int // the latest of each kind among findings
}

// sharedKey names a physical cause. Unused fields stay empty.
type sharedKey struct {
	what             string
	instrument, rng  string
	board, rail, tap string
	sitting          string
	zero             *study.Zero
}

// New returns a bench that records into g.
func New(g *gum.Graph, s *study.Study) *Bench {
	return &Bench{G: g, study: s, shared: make(map[sharedKey]gum.Value), noted: make(map[notedKey]int)}
}

// Findings returns what was noticed while readings were turned into quantities.
func (b *Bench) Findings() []Finding { return b.findings }

// note keeps a finding. What differs from an earlier one in its state alone
// adds its state to that one: some hold for every reading of a study.
func (b *Bench) note(f Finding) {
	k := notedKey{f.Code, f.Board, f.Sitting, f.Rail}
	if i, ok := b.noted[k]; ok {
		if x := &b.findings[i]; x.Severity == f.Severity && x.Text.Equal(f.Text) && x.Do.Equal(f.Do) {
			for _, s := range f.States {
				if !slices.Contains(x.States, s) {
					x.States = append(x.States, s)
				}
			}
			return
		}
	}
	b.noted[k] = len(b.findings)
	b.findings = append(b.findings, f)
}

type notedKey struct{ code, board, sitting, rail string }

// once returns the shared input for a cause, recording it at first use.
func (b *Bench) once(k sharedKey, record func() gum.Value) gum.Value {
	if v, ok := b.shared[k]; ok {
		return v
	}
	v := record()
	b.shared[k] = v
	return v
}

// Input records an input of its own, shared with nothing.
func (b *Bench) Input(name string, d gum.Distribution, tags []gum.Tag) gum.Value {
	return b.G.Input(gum.Input{Name: name, Dist: d, Tags: tags})
}

// Within turns a written quantity into a distribution: its tolerance when it
// has one, else its form (a band is a rectangle, repeats a Student t, a single
// value the rectangle of its last digit, step wide; step 0: a constant).
func Within(e quantity.Entry, step float64) gum.Distribution {
	if t := e.Tol; t != nil {
		return toleranced(e.Value(), *t)
	}
	switch e.Kind {
	case quantity.Band:
		return gum.Rectangular{Lo: e.Values[0], Hi: e.Values[1]}
	case quantity.Repeats:
		mean, scale := meanAndScale(e.Values)
		return gum.StudentT{Mean: mean, Scale: scale, DOF: float64(len(e.Values) - 1)}
	}
	return gum.Rectangular{Lo: e.Value() - step/2, Hi: e.Value() + step/2}
}

// toleranced gives the distribution of x ± t. A tolerance without a coverage
// factor is a limit (JCGM 100 4.3.7), with one it is normal (4.3.3, 4.3.4), and with degrees of freedom too
// it is what repeats give (4.2.3, G.3).
func toleranced(x float64, t quantity.Tolerance) gum.Distribution {
	switch {
	case t.K > 0 && t.DOF > 0:
		return gum.StudentT{Mean: x, Scale: math.Max(t.Minus, t.Plus) / t.K, DOF: t.DOF}
	case t.K > 0:
		return gum.Normal{Mean: x, U: math.Max(t.Minus, t.Plus) / t.K}
	case t.Level > 0:
		return gum.Normal{Mean: x, U: math.Max(t.Minus, t.Plus) / normalK(t.Level)}
	}
	return gum.Rectangular{Lo: x - t.Minus, Hi: x + t.Plus}
}

// normalK is the two-sided coverage factor of the normal distribution.
func normalK(level float64) float64 {
	return math.Sqrt2 * math.Erfinv(level)
}

// meanAndScale returns the mean of at least two values and the standard
// deviation of that mean, s/√n (JCGM 100 4.2.3).
func meanAndScale(xs []float64) (mean, scale float64) {
	n := float64(len(xs))
	for _, x := range xs {
		mean += x / n
	}
	var ss float64
	for _, x := range xs {
		ss += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(ss / (n - 1) / n)
}

// tags builds the tag list of an input. Empty values are left out.
func tags(pairs ...string) []gum.Tag {
	out := make([]gum.Tag, 0, len(pairs)/2)
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out = append(out, gum.Tag{Key: pairs[i], Value: pairs[i+1]})
		}
	}
	return out
}

// rangeName names an instrument's range for people: "desk meter, 500 mV".
func rangeName(in *study.Instrument, r *study.Range) string {
	if r == nil || r.Name == "" {
		return in.Name
	}
	return fmt.Sprintf("%s, %s", in.Name, r.Name)
}
