package cooling

import (
	"math"

	"railtally/gum"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// An infrared thermometer for 8 to 14 µm sees about what one at this
// wavelength sees (common practice, no source); c2 is the second radiation
// constant hc/k (CODATA).
const (
	seenWavelength = 10.6e-6        // m
	c2             = 1.438776877e-2 // m·K
	zeroC          = 273.15
)

// radiance of a black body at the wavelength, without its constant factor
// (Planck's law), and its inverse.
func radiance(celsius float64) float64 {
	return 1 / math.Expm1(c2/(seenWavelength*(celsius+zeroC)))
}

func celsiusOf(radiance float64) float64 {
	return c2/(seenWavelength*math.Log1p(1/radiance)) - zeroC
}

// surfaceTemperature is the temperature of a surface of emissivity eps whose
// infrared thermometer, set to an emissivity, showed a temperature. The
// thermometer saw the surface's own radiation and the room's, reflected; it
// took off the reflection for its setting:
//
//	set·L(shown) + (1−set)·L(room) = eps·L(t) + (1−eps)·L(room)
func surfaceTemperature(shown, eps, set, room float64) float64 {
	l := (set*radiance(shown) + (eps-set)*radiance(room)) / eps
	if l <= 0 {
		return math.NaN()
	}
	return celsiusOf(l)
}

// corrected takes what an infrared thermometer showed to the temperature of the
// surface. The emissivity is one input for all readings of that name.
func (b *bench) corrected(board string, x *study.Infrared, shown, room gum.Value) gum.Value {
	eps := b.once("emissivity "+board+" "+x.Name, gum.Input{Name: board + " " + x.Name + ": emissivity",
		Dist: sensing.Within(x.Emissivity, x.Emissivity.Step), Tags: tagged(CauseEmissivity, sensing.TagBoard, board)})
	set := x.Emissivity.Value()
	if x.Set != nil {
		set = x.Set.Value()
	}
	return custom("infrared", func(v []float64) float64 { return surfaceTemperature(v[0], v[1], set, v[2]) }, shown, eps, room)
}
