package sensing

import (
	"railtally/gum"
	"railtally/internal/quantity"
)

// CopperResistivity is the resistivity of annealed copper at 20 °C in Ω·m
// (IEC 60028, 100 % IACS).
const CopperResistivity = 1.7241e-8

// loopTolerance is how well the resistance of a loop is known when it was
// computed from gauge and length: joints, stretch and temperature (±20 %;
// common practice, no source).
const loopTolerance = 0.2

// LoopResistance is the resistance in ohms of a loop of copper wire at 20 °C,
// or the resistance that was written for it.
func LoopResistance(w quantity.Wire) float64 {
	if w.Resistance != nil {
		return w.Resistance.Value()
	}
	return CopperResistivity * w.Length / w.Area
}

func loopDistribution(w quantity.Wire) gum.Distribution {
	if w.Resistance != nil && w.Resistance.Tol != nil {
		return Within(*w.Resistance, 0)
	}
	r := LoopResistance(w)
	return gum.Rectangular{Lo: r * (1 - loopTolerance), Hi: r * (1 + loopTolerance)}
}
