package heat

import "fmt"

// Kind says how a heatsink is shaped.
type Kind string

// The shapes of heatsinks.
const (
	// PlateFins: straight parallel fins on a rectangular base.
	PlateFins Kind = "plate fins"
	// Plate: a plain plate, one face to the air.
	Plate Kind = "plate"
	// Pins: a field of pins. No formula that is both simple and verified was
	// found, so none is offered: scale a measured rise instead.
	Pins Kind = "pins"
	// Unknown: nothing but a measured temperature is known of it.
	Unknown Kind = "unknown"
)

// Kinds lists the shapes in the order in which they are offered.
var Kinds = []Kind{PlateFins, Plate, Pins, Unknown}

// Stand says how a sink or a board stands.
type Stand string

// The ways to stand.
const (
	// Upright: base vertical, fins running up and down.
	Upright Stand = "upright"
	// Sideways: base vertical, fins running across: air is caught in them.
	Sideways Stand = "sideways"
	// FacingUp: base horizontal, fins or the free face up.
	FacingUp Stand = "facing up"
	// FacingDown: base horizontal, fins or the free face down.
	FacingDown Stand = "facing down"
)

// Stands lists the ways to stand.
var Stands = []Stand{Upright, Sideways, FacingUp, FacingDown}

// derate is the part of an upright finned sink's convection that is left in
// another position: the middle of what is said in the trade, 30 to 60 % less
// sideways, 10 to 20 % facing up, 20 to 35 % facing down (common practice, no
// source).
func (s Stand) derate() float64 {
	switch s {
	case Sideways:
		return 0.55
	case FacingUp:
		return 0.85
	case FacingDown:
		return 0.725
	}
	return 1
}

// Sink is a heatsink as a person can measure it.
type Sink struct {
	Kind          Kind
	Width, Length float64 // of the base in metres, across the fins and along them
	Base          float64 // thickness of the base
	Fins          int
	Height        float64 // of the fins above the base
	Thickness     float64 // of one fin
	Stand         Stand
	Conductivity  float64 // W/(m·K)
	Emissivity    float64
}

// Gap is the free space between two fins.
func (s Sink) Gap() float64 {
	if s.Fins < 2 {
		return 0
	}
	return (s.Width - float64(s.Fins)*s.Thickness) / float64(s.Fins-1)
}

// FinArea is the area of the fins' sides, what "half as much area again" means.
func (s Sink) FinArea() float64 { return 2 * float64(s.Fins) * s.Height * s.Length }

// Predictable tells whether there are formulas for the shape.
func (s Sink) Predictable() bool { return s.Kind == PlateFins || s.Kind == Plate }

// leastGap is the narrowest gap, in metres, that is computed.
const leastGap = 0.5e-3

// Check finds everything about the description that cannot be.
func (s Sink) Check() error {
	var p Problems
	switch s.Kind {
	case PlateFins, Plate:
	case Pins, Unknown:
		return nil // described by what was measured alone
	default:
		return Problems{{"kind", fmt.Sprintf("%q is no shape known here", s.Kind), "plate fins, plate, pins, unknown"}}
	}
	switch s.Stand {
	case Upright, Sideways, FacingUp, FacingDown:
	default:
		p = append(p, Problem{"stands", fmt.Sprintf("%q is no position known here", s.Stand), "upright, sideways, facing up, facing down"})
	}
	wide := p.length("width", s.Width, 5e-3, 0.5)
	p.length("length", s.Length, 5e-3, 0.5)
	p.length("base thickness", s.Base, 0.3e-3, 30e-3)
	p.within("conductivity", s.Conductivity, 1, 2000, 1, "W/(m·K)")
	p.within("emissivity", s.Emissivity, 0.02, 1, 1, "")
	if s.Kind == Plate {
		return p.orNil()
	}
	p.length("fin height", s.Height, 1e-3, 0.2)
	thick := p.length("fin thickness", s.Thickness, 0.1e-3, 10e-3)
	switch {
	case s.Fins < 2 || s.Fins > 200:
		p = append(p, Problem{"fins", fmt.Sprintf("%d fins are no field of fins", s.Fins), "2 to 200"})
	case wide && thick && s.Gap() < leastGap:
		most := int((s.Width + leastGap) / (s.Thickness + leastGap))
		what := fmt.Sprintf("%d fins of %.3g mm on %.3g mm leave gaps of %.2g mm", s.Fins, s.Thickness*1000, s.Width*1000, s.Gap()*1000)
		if s.Gap() <= 0 {
			what = fmt.Sprintf("%d fins of %.3g mm overlap on %.3g mm", s.Fins, s.Thickness*1000, s.Width*1000)
		}
		p = append(p, Problem{"fins", what, fmt.Sprintf("at most %d, which leave %.3g mm between them", most, leastGap*1000)})
	}
	return p.orNil()
}

// FinsForGap is the count of fins whose gap comes nearest to a wanted one.
func FinsForGap(width, thickness, gap float64) int {
	return int((width+gap)/(thickness+gap) + 0.5)
}
