package insertion

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/sensing"
)

const (
	copperConductivity = 398.0 // W/(m·K), annealed copper near 25 °C
	bareEmissivity     = 0.1   // of bright copper
	room               = 25.0  // °C
	hottest            = 500.0 // K, the highest rise that is looked for
)

// StillAirRise is the rise in kelvins of a long bare horizontal wire in still
// air of 25 °C: the heat I²R' at the wire's own temperature against natural
// convection from a cylinder (Churchill and Chu 1975) and radiation. It is +Inf
// where no balance below 500 K exists.
func StillAirRise(current, area float64) float64 {
	d := Diameter(area)
	excess := func(rise float64) float64 {
		heating := current * current * sensing.CopperResistivity / area * CopperFactor(room+rise)
		return heating - math.Pi*d*lossPerArea(rise, d)
	}
	if excess(hottest) > 0 {
		return math.Inf(1)
	}
	lo, hi := 0.0, hottest
	for range 60 {
		if mid := (lo + hi) / 2; excess(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// lossPerArea is the heat in W/m² that a cylinder loses at a rise above the
// room: Nu = (0.60 + 0.387 Ra^(1/6)/(1 + (0.559/Pr)^(9/16))^(8/27))².
func lossPerArea(rise, diameter float64) float64 {
	air := heat.AirAt(room+rise/2, heat.SeaLevel)
	ra := air.Rayleigh(rise, diameter)
	nu := 0.60 + 0.387*math.Pow(ra, 1.0/6)/math.Pow(1+math.Pow(0.559/air.Prandtl, 9.0/16), 8.0/27)
	return nu*nu*air.Conductivity/diameter*rise + heat.Radiated(bareEmissivity, room+rise, room)
}

// HeldEndsRise is the rise at the middle of a short wire whose ends are held by
// the pads, without any air: I²·R'·l²/(8·k·A), with R' at 25 °C.
func HeldEndsRise(current, length, area float64) float64 {
	perMetre := sensing.CopperResistivity / area * CopperFactor(room)
	return current * current * perMetre * length * length / (8 * copperConductivity * area)
}

// LoopRise is the rise at the middle of a loop: that of a wire held at both
// ends and cooled by still air along its length, the fin between two ends
// ΔT = ΔT∞·(1 − 1/cosh(m·l/2)), m² = q'/(ΔT∞·k·A). It tends to HeldEndsRise
// for a short wire and to StillAirRise for a long one, and exceeds neither.
func LoopRise(current, length, area float64) float64 {
	far := StillAirRise(current, area)
	held := HeldEndsRise(current, length, area)
	if math.IsInf(far, 1) || far == 0 {
		return held
	}
	// held = q'l²/(8kA), so (m·l/2)² = q'l²/(4kA·ΔT∞) = 2·held/ΔT∞.
	return far * (1 - 1/math.Cosh(math.Sqrt(2*held/far)))
}

// ResistorRise is the rise of a shunt of resistance r at a current, with its
// thermal resistance to the room.
func ResistorRise(current, r, kelvinPerWatt float64) float64 {
	return current * current * r * kelvinPerWatt
}
