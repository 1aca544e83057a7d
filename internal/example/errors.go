package example

import (
	"math"
	"math/rand/v2"
)

// The virtual instruments, as plan.yaml describes them.
var (
	redClamp  = clampKind{name: "red clamp", ampsPerVolt: 10, factor: 1.004, factorU: 0.002, gain: 0.002, offset: 0.010, position: 0.008, wander: 0.003}
	blueClamp = clampKind{name: "blue clamp", ampsPerVolt: 1, factor: 1, gain: 0.015, offset: 0.002, position: 0.01, wander: 0.0008}
	ranges    = []meterRange{
		{to: 0.05, digit: 1e-5, decimals: 2, milli: true, gain: 0.002, counts: 3},
		{to: 0.5, digit: 1e-4, decimals: 1, milli: true, gain: 0.002, counts: 2},
		{to: 5, digit: 1e-3, decimals: 3, gain: 0.001, counts: 1},
	}
)

const (
	shuntOhms      = 0.100
	shuntTolerance = 0.01
	shuntHeating   = 50e-6 * 5
	shuntWander    = 4e-6 // volts of thermal EMF between two zeros
)

// clampKind is what is printed about a clamp: limits, not errors.
type clampKind struct {
	name        string
	ampsPerVolt float64
	factor      float64 // correction factor and its standard uncertainty
	factorU     float64
	gain        float64 // half-width of the remaining gain error
	offset      float64 // amperes
	position    float64
	wander      float64 // amperes of zero, one standard deviation between two zeros
}

type meterRange struct {
	to, digit    float64
	decimals     int
	milli        bool
	gain, counts float64
}

// errors are the bench's true errors: drawn once, as an instrument's errors
// are there before anybody reads it.
type errors struct {
	r     *rand.Rand
	scale map[string]float64    // amperes per volt that a clamp really has, divided by what is printed
	meter map[float64]float64   // place inside the accuracy line, by range
	shunt float64               // ohms
	draws map[[3]string]float64 // amperes, of rails that were not opened, by board, state and rail
}

func drawErrors(r *rand.Rand) *errors {
	e := &errors{r: r, scale: map[string]float64{}, meter: map[float64]float64{}, draws: map[[3]string]float64{}}
	for _, c := range []clampKind{redClamp, blueClamp} {
		e.scale[c.name] = (c.factor + c.factorU*r.NormFloat64()) * (1 + e.within(c.gain))
	}
	for _, m := range ranges {
		e.meter[m.to] = e.within(1)
	}
	e.shunt = shuntOhms * (1 + e.within(shuntTolerance)) * (1 + e.within(shuntHeating))
	for _, b := range boards {
		for _, st := range states {
			for _, r := range b.rails {
				if r.unopened > 0 {
					e.draws[[3]string{b.name, st.name, r.name}] = r.unopened * e.r.Float64()
				}
			}
		}
	}
	return e
}

// power is what the chip on a board really draws in a state through one rail,
// or through all when the rail is "".
func (e *errors) power(boardName, stateName, railName string) float64 {
	c, sum := stateNamed(stateName), 0.0
	for _, r := range boardNamed(boardName).rails {
		if railName != "" && r.name != railName {
			continue
		}
		i := r.current(c)
		if r.unopened > 0 {
			i = e.draws[[3]string{boardName, stateName, r.name}]
		}
		sum += i * (r.volts - r.sag*i)
	}
	return sum
}

// within draws evenly from ±half.
func (e *errors) within(half float64) float64 { return half * (2*e.r.Float64() - 1) }

// rangeFor is the smallest range that holds a voltage.
func rangeFor(volts float64) meterRange {
	for _, m := range ranges {
		if math.Abs(volts) < 0.995*m.to {
			return m
		}
	}
	return ranges[len(ranges)-1]
}

// shown is what the meter would display of a voltage if it had digits without
// end: the meter's own error, without rounding.
func (e *errors) shown(volts float64, m meterRange) float64 {
	s := e.meter[m.to]
	return (volts - s*m.counts*m.digit) / (1 + s*m.gain)
}
