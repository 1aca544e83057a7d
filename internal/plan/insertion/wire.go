package insertion

import (
	"math"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
)

// The gauges that a bench has on a reel, thickest first.
const ThickestGauge, ThinnestGauge = 10, 40

// Joint is the resistance in ohms of one good soldered joint (common practice,
// no source: 0.1 mΩ or less).
const Joint = 0.1e-3

// Resistance is the resistance in ohms of a copper wire: ρ·l/A, with ρ that of
// annealed copper at 20 °C (IEC 60028) and its temperature coefficient there.
// Stranded and tinned wire has up to a sixth more (IEC 60228, class 5).
func Resistance(length, area, celsius float64) float64 {
	return sensing.CopperResistivity * length / area * CopperFactor(celsius)
}

// CopperFactor is R(T)/R(20 °C) of copper, 1 + 0.00393·(T − 20).
func CopperFactor(celsius float64) float64 {
	return 1 + sensing.CopperTempCo*(celsius-20)
}

// Diameter is that of a solid round wire of an area.
func Diameter(area float64) float64 { return math.Sqrt(4 * area / math.Pi) }

// LoopResistance is what closing a rail with a wire adds: the wire at 20 °C, or
// as it was measured, and its two joints.
func LoopResistance(w quantity.Wire) float64 {
	if w.Resistance != nil {
		return w.Resistance.Value() // measured from pad to pad, joints and all
	}
	return sensing.LoopResistance(w) + 2*Joint
}

// SmallestGauge is the thinnest gauge of which a wire of a length stays within
// a drop in volts and a rise in kelvins at a current, and is fused with margin;
// ok is false where even the thickest does not.
func SmallestGauge(length, current, drop, rise float64) (gauge int, ok bool) {
	for g := ThinnestGauge; g >= ThickestGauge; g-- {
		a := quantity.GaugeArea(g)
		if current*(Resistance(length, a, 20)+2*Joint) <= drop && LoopRise(current, length, a) <= rise && current*FuseMargin <= Preece(a) {
			return g, true
		}
	}
	return 0, false
}

// LongestLoop is the longest wire of an area that stays within a drop at a
// current; 0 where the joints alone take it.
func LongestLoop(area, current, drop float64) float64 {
	return math.Max(0, (drop/current-2*Joint)*area/sensing.CopperResistivity)
}
