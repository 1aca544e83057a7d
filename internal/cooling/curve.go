package cooling

import (
	"fmt"
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/study"
)

// Curve predicts a point's temperature and its standard uncertainty in K at an
// exact power in W, room in °C and pressure in Pa: as the chip is cooled ([Line]),
// or after a change ([Trial.Curve]).
type Curve interface {
	At(power, room, pressure float64) (celsius, u float64)
	DOF() float64
}

func keeps(c Curve, limit, power, room, pressure float64) float64 {
	t, u := c.At(power, room, pressure)
	return probability(limit, t, u, c.DOF())
}

// powerFor bisects on t + k·u rather than on the probability, whose distribution
// function is costly; k is found once.
func powerFor(c Curve, limit, room, pressure, prob float64) float64 {
	k := student(c.DOF()).Quantile(prob)
	return largest(mostPower, func(p float64) bool {
		t, u := c.At(p, room, pressure)
		return t+k*u <= limit
	})
}

// afterChange is a measured line, its rise multiplied by what the model says that a
// change does to it at that power and room. The model is asked on a grid and
// interpolated between, which is within 0.2 % of the rise.
type afterChange struct {
	*Line
	power, room []float64 // of the grid: W ascending, °C ascending
	ratio       [][]float64
	// What the distance from the measured cooling costs, in parts of the rise, as
	// a standard uncertainty; and what else the trial found uncertain at what is
	// asked, as a factor.
	off, widen float64
	dof        float64
}

// The grid: closer at low powers, where the ratio changes most.
const gridPowers, gridRooms = 13, 4

// Curve is a point's temperature after the change, over powers and rooms. At
// what is asked it has the uncertainty of the trial's own prediction, and it
// keeps the proportion elsewhere. The point must have been measured.
func (t *Trial) Curve(p *Point) (Curve, error) {
	if t.base == nil || p.Line == nil {
		return nil, fmt.Errorf("%s: nothing was measured that a change could start from", p.Name)
	}
	of := t.base.ratioOf
	if of == nil { // no change
		return p.Line, nil
	}
	if a := t.base.curves[p]; a != nil {
		return a, nil
	}
	a := &afterChange{Line: p.Line, off: t.Discrepancy / math.Sqrt(3), widen: 1, dof: p.Line.DOF()}
	asked, room := t.base.power, t.base.room
	most := 1.6 * math.Max(p.Line.PMax, asked)
	for i := range gridPowers {
		w := (float64(i) + 1) / gridPowers
		a.power = append(a.power, most*w*w)
	}
	lo, hi := math.Min(p.Line.Room0, room)-10, math.Max(math.Max(p.Line.Room0, room), 45)+22
	for j := range gridRooms {
		a.room = append(a.room, math.Min(84, math.Max(-39, lo+(hi-lo)*float64(j)/(gridRooms-1))))
	}
	for _, room := range a.room {
		row := make([]float64, gridPowers)
		for i, power := range a.power {
			var err error
			if row[i], err = of(p.Kind == study.SinkPoint, power, room); err != nil {
				return nil, err
			}
		}
		a.ratio = append(a.ratio, row)
	}
	for _, pr := range t.Points {
		if pr.Point == p && asked > 0 {
			if _, u := a.At(asked, room, t.base.pressure); u > 0 {
				a.widen, a.dof = pr.Temperature.U/u, pr.Temperature.DOF
			}
		}
	}
	t.base.curves[p] = a
	return a, nil
}

func (a *afterChange) DOF() float64 { return a.dof }

func (a *afterChange) At(power, room, pressure float64) (celsius, u float64) {
	t, u := a.Line.At(power, room, pressure)
	if power <= 0 {
		return t, u
	}
	top := a.est[linePsi] * power
	rise := t - room - top
	r := a.at(power, room)
	next := a.cov[lineNext][lineNext] // how a reading scatters does not change with the rise
	return room + r*rise + top, a.widen * math.Sqrt(r*r*math.Max(0, u*u-next)+next+a.off*r*rise*a.off*r*rise)
}

// at interpolates the ratio; beyond the grid its edge stands.
func (a *afterChange) at(power, room float64) float64 {
	i, v := cell(a.power, power)
	j, w := cell(a.room, room)
	row := func(j int) float64 { return a.ratio[j][i]*(1-v) + a.ratio[j][i+1]*v }
	return row(j)*(1-w) + row(j+1)*w
}

// cell finds the two grid lines that a value lies between and how far it is on
// the way from one to the other.
func cell(x []float64, at float64) (int, float64) {
	i := 0
	for i < len(x)-2 && at > x[i+1] {
		i++
	}
	w := 0.0
	if x[i+1] > x[i] {
		w = math.Min(1, math.Max(0, (at-x[i])/(x[i+1]-x[i])))
	}
	return i, w
}

// trialBase is what a trial started from: what was asked, and what the model says
// of the change at other powers and rooms.
type trialBase struct {
	power, room, pressure float64
	ratioOf               func(sink bool, power, room float64) (float64, error) // nil: no change
	curves                map[*Point]*afterChange                               // as asked for so far
}

// rise is that of the sink's base or of the case.
func riseOf(r heat.Rungs, sink bool) float64 {
	if sink {
		return r.Base - r.Air
	}
	return r.Case - r.Air
}
