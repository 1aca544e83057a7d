package insertion

import "math"

// FuseMargin is how many times its current a loop must stand before it would
// melt (our own choice; Preece's rule is for wire in free air, and solder and
// insulation fail far earlier).
const FuseMargin = 5.0

const (
	inch         = 0.0254                          // m
	circularMil  = math.Pi / 4 * 25.4e-6 * 25.4e-6 // m²
	copperMelts  = 1083.0                          // °C
	copperOffset = 234.0                           // °C, below which copper's resistance would vanish
)

// Preece is the current in amperes at which a long copper wire in air melts:
// 10244·d^1.5, d in inches (Preece 1884).
func Preece(area float64) float64 {
	return 10244 * math.Pow(Diameter(area)/inch, 1.5)
}

// Onderdonk is the current that melts a copper wire within a time in seconds
// without losing heat, from a surrounding temperature: A·√(log₁₀((1083 −
// Ta)/(234 + Ta) + 1)/(33 t)), A in circular mils. It holds up to about ten
// seconds.
func Onderdonk(area, seconds, celsius float64) float64 {
	return area / circularMil * math.Sqrt(math.Log10((copperMelts-celsius)/(copperOffset+celsius)+1)/(33*seconds))
}
