package insertion

import "math"

const mu0 = 4e-7 * math.Pi // H/m

// Straight is the partial inductance in henries of a straight round wire at
// low frequency: 2e-7·(l·ln((l + √(l² + a²))/a) − √(l² + a²) + l/4 + a), a the
// radius (Rosa 1908, Grover 1946).
func Straight(length, area float64) float64 {
	a := Diameter(area) / 2
	r := math.Hypot(length, a)
	return 2e-7 * (length*math.Log((length+r)/a) - r + length/4 + a)
}

// Circle is the inductance of a round loop of a radius at low frequency:
// μ₀R·(ln(8R/a) − 7/4).
func Circle(radius, area float64) float64 {
	return mu0 * radius * (math.Log(8*radius/(Diameter(area)/2)) - 1.75)
}

// Rectangle is that of a rectangular loop b by d at low frequency.
func Rectangle(b, d, area float64) float64 {
	a := Diameter(area) / 2
	return mu0 / math.Pi * (b*math.Log(2*b/a) + d*math.Log(2*d/a) - (b+d)*1.75 +
		2*math.Hypot(b, d) - b*math.Asinh(b/d) - d*math.Asinh(d/b))
}

// Pair is the inductance per metre of two parallel wires that carry a current
// out and back at a spacing: (μ₀/π)·(ln(D/a) + 1/4).
func Pair(spacing, area float64) float64 {
	return mu0 / math.Pi * (math.Log(spacing/(Diameter(area)/2)) + 0.25)
}

// Loop is the most that a loop of a length adds: its wire laid as a circle,
// which encloses the most area. Legs pressed together halve it.
func Loop(length, area float64) float64 { return Circle(length/(2*math.Pi), area) }

// ClampCore is what a clamp's gapped core adds to a wire that passes it n times:
// μ₀·n²·A/gap, for a core of 1 cm² with 2 mm of gap in all (an estimate, no
// source): 63 nH for one pass.
func ClampCore(turns int) float64 {
	const core, gap = 1e-4, 2e-3
	return mu0 * float64(turns*turns) * core / gap
}

// Kick is the voltage that a current changing at a rate in A/s makes across an
// inductance.
func Kick(inductance, rate float64) float64 { return inductance * rate }

// StepDip is the deepest that the voltage at the load falls, in volts, when its
// current grows evenly by step amperes within seconds behind an inductance, with
// farads at the load (0: none). Without resistance, which only makes it less:
// L·ΔI/Δt alone without a capacitor, since nothing rings; with one, twice that for
// a step slower than half a period of the ring, and ΔI·√(L/C)·sin(x)/x with
// x = Δt/(2√(LC)) for a faster one (the response of L and C to a ramp).
func StepDip(henries, farads, step, seconds float64) float64 {
	steady := henries * step / seconds
	if farads <= 0 {
		return steady
	}
	x := seconds / (2 * math.Sqrt(henries*farads))
	if x >= math.Pi/2 {
		return 2 * steady
	}
	return 2 * steady * math.Sin(x)
}

// Ring is the frequency in hertz and the characteristic impedance in ohms of an
// inductance with the capacitance at the load's end of it.
func Ring(inductance, capacitance float64) (hertz, ohms float64) {
	return 1 / (2 * math.Pi * math.Sqrt(inductance*capacitance)), math.Sqrt(inductance / capacitance)
}

// Ripple is the peak-to-peak ripple in amperes of a buck's inductor:
// Vo·(1 − Vo/Vin)/(f·L).
func Ripple(in, out, hertz, inductance float64) float64 {
	return out * (1 - out/in) / (hertz * inductance)
}

// NeighbourField is the flux density in tesla at a distance from a straight wire
// that carries a current: μ₀I/(2πd).
func NeighbourField(current, distance float64) float64 {
	return mu0 * current / (2 * math.Pi * distance)
}
