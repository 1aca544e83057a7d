package study

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// What stands in where a description does not say it.
const (
	solderMask   = 0.90  // emissivity of solder mask of any colour, 0.85 to 0.95 (common practice, no source)
	usualCopper  = 35e-6 // m
	usualSurface = "anodised"
	usualMetal   = "extruded aluminium"
)

// Shape gives the sink to the formulas. A field that was not said is 0 there,
// which they refuse.
func (h *Heatsink) Shape() heat.Sink {
	s := heat.Sink{Kind: h.Kind, Width: valueOf(h.Width), Length: valueOf(h.Length), Base: valueOf(h.Base), Fins: h.Fins,
		Height: valueOf(h.FinHeight), Thickness: valueOf(h.FinThick), Stand: h.Stands}
	if s.Stand == "" {
		s.Stand = heat.Upright
	}
	if h.Gap != nil && s.Fins == 0 {
		if g := valueOf(h.Gap); g > 0 && s.Thickness > 0 && s.Width > 0 && s.Width < 1 && g+s.Thickness > 1e-5 {
			s.Fins = heat.FinsForGap(s.Width, s.Thickness, g)
		}
	}
	want := h.Material
	if want == "" {
		want = usualMetal
	}
	for _, m := range heat.Materials() {
		if m.Name == want {
			s.Conductivity = m.Conductivity
		}
	}
	s.Emissivity, _, _ = h.Surface()
	return s
}

// Surface is the emissivity of the sink with the limits it lies in.
func (h *Heatsink) Surface() (e, lo, hi float64) {
	if h.Emissivity != nil {
		e = h.Emissivity.Value()
		lo, hi = limitsOf(h.Emissivity)
		return e, lo, hi
	}
	want := h.Finish
	if want == "" {
		want = usualSurface
	}
	for _, f := range heat.Finishes() {
		if f.Name == want {
			return f.Emissivity, f.Low, f.High
		}
	}
	return math.NaN(), math.NaN(), math.NaN()
}

// Shape gives the board to the formulas. chip is the side of the source.
func (b *BoardCooler) Shape(chip float64) heat.Board {
	out := heat.Board{Width: valueOf(b.Width), Height: valueOf(b.Height), Thickness: valueOf(b.Thickness), Faces: b.Faces,
		Stand: b.Stands, Emissivity: solderMask, Chip: chip}
	if out.Faces == 0 {
		out.Faces = 2
	}
	if out.Stand == "" {
		out.Stand = heat.Upright
	}
	if b.Emissivity != nil {
		out.Emissivity = b.Emissivity.Value()
	}
	copper := usualCopper
	if b.Copper != nil {
		copper = b.Copper.Value()
	}
	out.Sheet = heat.SheetOf(b.Planes, copper, out.Thickness)
	return out
}

func valueOf(e *quantity.Entry) float64 {
	if e == nil || len(e.Values) == 0 {
		return 0
	}
	return e.Value()
}

// limitsOf are the ends of what an entry says.
func limitsOf(e *quantity.Entry) (lo, hi float64) {
	if e.Kind == quantity.Band {
		return e.Values[0], e.Values[1]
	}
	lo, hi = e.Value(), e.Value()
	if t := e.Tol; t != nil {
		lo, hi = lo-t.Minus, hi+t.Plus
	}
	return lo, hi
}
