package cooling

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// The parameters of a line.
const (
	lineC    = iota // ln of the rise at P0
	lineN           // exponent
	lineE           // ln of the rise for each ln of thinner air
	lineK           // the rise's fall for each kelvin of warmer room, in parts
	linePsi         // K/W on top
	lineNext        // scatter of one more reading, K
	lineParts
)

// Line carries a law to other powers, rooms and altitudes:
//
//	T = room + a·(P/P0)^n · (p0/p)^e · exp(−k·(room − room0)) + ψ·P + scatter
//
// e and k are bands from own computations of finned sinks: the rise grows by 9 %
// at 1500 m and 20 % at 3000 m (e 0.3 to 0.6), and falls by 0 to 0.15 % for each
// kelvin of warmer room. Between its parameters a Line keeps their covariance,
// so that a prediction costs no pass through the graph; [Line.Value] is the
// same prediction within the graph, for a power that is itself uncertain and
// shares causes with the law.
type Line struct {
	P0, Room0  float64
	PMin, PMax float64 // W, the powers that it rests on
	dof        float64
	vals       [lineParts]gum.Value
	est        [lineParts]float64
	cov        [lineParts][lineParts]float64
}

func (c *Cooling) line(b *Board, l *Law, psi gum.Value) (*Line, error) {
	g := c.Tally.Graph
	out := &Line{P0: l.P0, Room0: l.RoomMean, PMin: l.PMin, PMax: l.PMax}
	if !psi.Valid() {
		psi = g.Const(0)
	}
	next := g.Const(0)
	for _, p := range b.Points {
		if p.Law == l && p.next.Valid() {
			next = p.next
		}
	}
	input := func(what string, lo, hi float64) gum.Value {
		return c.bench.once(what+b.Name, gum.Input{Name: b.Name + ": " + what, Dist: gum.Rectangular{Lo: lo, Hi: hi},
			Tags: tagged(CauseModel, sensing.TagBoard, b.Name)})
	}
	out.vals = [lineParts]gum.Value{l.C, l.N, input("rise in thin air", 0.3, 0.6), input("rise in a warm room", 0, 0.0015), psi, next}
	for i, v := range out.vals {
		out.est[i] = v.Estimate()
	}
	m, err := g.CovMatrix(out.vals[:]...)
	if err != nil {
		return nil, err
	}
	for i := range lineParts {
		for j := range lineParts {
			out.cov[i][j] = m.At(i, j)
		}
	}
	r, err := g.Result(out.Value(g.Const(l.P0), g.Const(l.RoomMean), heat.SeaLevel))
	if err != nil {
		return nil, err
	}
	out.dof = r.DOF
	return out, nil
}

// rise is the part over the room that follows the law.
func (l *Line) rise(v *[lineParts]float64, power, room, pressure float64) float64 {
	return math.Exp(v[lineC] + v[lineN]*math.Log(power/l.P0) + v[lineE]*math.Log(heat.SeaLevel/pressure) - v[lineK]*(room-l.Room0))
}

// At predicts the temperature in °C and its standard uncertainty in K at an
// exact power in W, room in °C and pressure in Pa. At no power it is the room's.
func (l *Line) At(power, room, pressure float64) (celsius, u float64) {
	if power <= 0 {
		return room, math.Sqrt(l.cov[lineNext][lineNext])
	}
	r := l.rise(&l.est, power, room, pressure)
	d := [lineParts]float64{r, r * math.Log(power/l.P0), r * math.Log(heat.SeaLevel/pressure), -r * (room - l.Room0), power, 1}
	var variance float64
	for i := range d {
		for j := range d {
			variance += d[i] * d[j] * l.cov[i][j]
		}
	}
	return room + r + l.est[linePsi]*power, math.Sqrt(math.Max(0, variance))
}

// DOF is the effective degrees of freedom of a prediction.
func (l *Line) DOF() float64 { return l.dof }

// Value is the prediction in the graph.
func (l *Line) Value(power, room gum.Value, pressure float64) gum.Value {
	vs := append(append([]gum.Value(nil), l.vals[:]...), power, room)
	return custom("temperature", func(x []float64) float64 {
		var v [lineParts]float64
		copy(v[:], x)
		p, t := x[lineParts], x[lineParts+1]
		return t + l.rise(&v, p, t, pressure) + v[linePsi]*p + v[lineNext]
	}, vs...)
}

// student is the t distribution of degrees of freedom, normal when infinite.
func student(dof float64) interface {
	CDF(float64) float64
	Quantile(float64) float64
} {
	if dof > 1e6 {
		return distuv.UnitNormal
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: math.Max(dof, 1)}
}

// probability that a temperature stays at or under a limit.
func probability(limit, celsius, u, dof float64) float64 {
	if u == 0 {
		if celsius <= limit {
			return 1
		}
		return 0
	}
	return student(dof).CDF((limit - celsius) / u)
}

// Keeps is the probability that a limit in °C is kept at an exact power, room
// and pressure.
func (l *Line) Keeps(limit, power, room, pressure float64) float64 {
	return keeps(l, limit, power, room, pressure)
}

// mostPower bounds the search for a power, in W.
const mostPower = 1e4

// PowerFor is the largest power in W at which a limit is kept with a
// probability; 0 where none does.
func (l *Line) PowerFor(limit, room, pressure, prob float64) float64 {
	return powerFor(l, limit, room, pressure, prob)
}

// RoomFor is the warmest room in °C in which a limit is kept with a
// probability; NaN where that is below −40 °C.
func (l *Line) RoomFor(limit, power, pressure, prob float64) float64 {
	const lo = -40.0
	if l.Keeps(limit, power, lo, pressure) < prob {
		return math.NaN()
	}
	return lo + largest(limit-lo, func(x float64) bool { return l.Keeps(limit, power, lo+x, pressure) >= prob })
}

// largest finds by halving the largest x from 0 to hi for which ok holds, where
// ok holds below some x and not above; 0 where it holds nowhere.
func largest(hi float64, ok func(float64) bool) float64 {
	if ok(hi) {
		return hi
	}
	lo := 0.0
	for range 60 {
		mid := (lo + hi) / 2
		if ok(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// Prediction is a temperature that was not measured.
type Prediction struct {
	Point       *Point
	Temperature tally.Figure // °C
	Power, Room tally.Figure
	// Limit, Margin and Probability are set where a limit is stated: margin is
	// limit less estimate.
	Limit, Margin, Probability float64
	Limited                    bool
	// Beyond tells that the power lies more than 5 % outside what was measured.
	Beyond bool
}

// Predict gives the temperature of a point at a power and room of the graph.
func (c *Cooling) Predict(p *Point, power, room gum.Value, pressure float64) (*Prediction, error) {
	if p.Line == nil {
		return nil, fmt.Errorf("%s: nothing to predict from", p.Name)
	}
	return c.predicted(p, p.Line.Value(power, room, pressure), power, room)
}

func (c *Cooling) predicted(p *Point, v, power, room gum.Value) (*Prediction, error) {
	out := &Prediction{Point: p}
	var err error
	for _, f := range []struct {
		dst *tally.Figure
		v   gum.Value
	}{{&out.Temperature, v}, {&out.Power, power}, {&out.Room, room}} {
		if *f.dst, err = figure(c.Tally.Graph, f.v, c.Level); err != nil {
			return nil, err
		}
	}
	if p.Limit != nil {
		out.Limited, out.Limit = true, p.Limit.Max.Value()
		out.Margin = out.Limit - out.Temperature.Estimate
		out.Probability = probability(out.Limit, out.Temperature.Estimate, out.Temperature.U, out.Temperature.DOF)
	}
	if l := p.Line; l != nil {
		out.Beyond = out.Power.Estimate > 1.05*l.PMax || out.Power.Estimate < 0.95*l.PMin
	}
	return out, nil
}

// PredictReading gives what the thermometer of a reading would show in its
// place: the prediction with that thermometer's own error, and the sitting's
// room. A reading that took no part in the fit is a test of it.
func (c *Cooling) PredictReading(p *Point, r *Reading) (tally.Figure, error) {
	if p.Line == nil {
		return tally.Figure{}, fmt.Errorf("%s: nothing to predict from", p.Name)
	}
	v := p.Line.Value(r.Power.Value, r.Room, heat.SeaLevel)
	if r.accuracy.Valid() {
		v = v.Add(r.accuracy)
	}
	return figure(c.Tally.Graph, v, c.Level)
}
