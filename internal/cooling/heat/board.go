package heat

import "math"

// Board is the printed board under the chip, as a cooler of its own.
type Board struct {
	Width, Height float64 // metres; Height is what stands upright
	Thickness     float64
	Sheet         float64 // in-plane conductance Σk·t of its layers, W/K; see SheetOf
	Faces         int     // how many faces the air reaches, 1 or 2
	Stand         Stand   // Upright or FacingUp
	Emissivity    float64
	Chip          float64 // side of the square through which the chip's heat enters, metres
}

// Conductivities of what a board is made of, W/(m·K): foil, and glass and epoxy
// in the plane (0.81 measured by Azar and Graebner 1996; both from memory).
const foil, laminate = 390.0, 0.8

// SheetOf is the in-plane conductance in W/K of a board of a thickness with
// unbroken copper planes of one thickness: 0.0285 for two of 35 µm in 1.6 mm.
// Traces hardly count, as they are not unbroken.
func SheetOf(planes int, copper, thickness float64) float64 {
	c := float64(planes) * copper
	return c*foil + max(0, thickness-c)*laminate
}

// Check finds everything about the description that cannot be.
func (b Board) Check() error {
	var p Problems
	p.length("width", b.Width, 10e-3, 1)
	p.length("height", b.Height, 10e-3, 1)
	p.length("thickness", b.Thickness, 0.2e-3, 10e-3)
	p.within("sheet conductance", b.Sheet, 1e-4, 1, 1, "W/K")
	p.within("faces free", float64(b.Faces), 1, 2, 1, "")
	p.within("emissivity", b.Emissivity, 0.02, 1, 1, "")
	if b.Stand != Upright && b.Stand != FacingUp {
		p = append(p, Problem{"stands", "a board stands upright or lies", "upright, facing up"})
	}
	if p.length("chip side", b.Chip, 1e-3, 0.1) && b.Chip > 0.9*min(b.Width, b.Height) {
		p = append(p, Problem{"chip side", "the chip is nearly as large as the board", "less than nine tenths of the board's smaller side"})
	}
	return p.orNil()
}

// coefficient is that of all free faces together, radiation included, at a mean
// rise of the board.
func (b Board) coefficient(rise float64, in Surroundings) float64 {
	rise = math.Max(rise, 0.01)
	air := AirAt(in.Air+rise/2, in.Pressure)
	faces := float64(b.Faces)
	forced := 0.0
	if in.Speed > 0 {
		forced = NuForced(in.Speed*b.Width/air.Kinematic, air.Prandtl) * air.Conductivity / b.Width
	}
	var h float64
	if b.Stand == Upright {
		h = faces * Blend(NuVertical(air.Rayleigh(rise, b.Height), air.Prandtl)*air.Conductivity/b.Height, forced)
	} else {
		length := b.Width * b.Height / (2 * (b.Width + b.Height))
		ra := air.Rayleigh(rise, length)
		h = Blend(NuUp(ra)*air.Conductivity/length, forced)
		if b.Faces == 2 {
			h += Blend(NuDown(ra)*air.Conductivity/length, forced)
		}
	}
	// Radiation counts from the walls' temperature; it is referred to the air.
	return math.Max(h+faces*Radiated(b.Emissivity, in.Air+rise, in.Walls)/rise, 0.01)
}

// board is a Board with its spreading resistance tabled.
type board struct {
	Board
	spread *spreader
}

func (b Board) ready() board {
	s := Slab{SourceX: b.Chip, SourceY: b.Chip, X: b.Width, Y: b.Height, Thickness: b.Thickness, Conductivity: b.Sheet / b.Thickness}
	return board{b, s.spreader()}
}

// loss is the heat in W that leaves by the board when its top under the chip,
// the mean over the source, has a temperature. The board's mean rise follows
// from the heat itself, so that both are found together.
func (b board) loss(t float64, in Surroundings) float64 {
	rise := t - in.Air
	if rise <= 0 {
		return 0
	}
	area := b.Width * b.Height
	through := b.Thickness / (b.Sheet / b.Thickness) / area
	mean := rise / 3
	var q float64
	for range 40 {
		h := b.coefficient(mean, in)
		q = rise / (b.spread.at(h) + through + 1/(h*area))
		next := q / (h * area)
		if math.Abs(next-mean) < 1e-9*rise {
			break
		}
		mean = next
	}
	return q
}
