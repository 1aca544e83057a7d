package chart

import (
	"errors"
	"fmt"
	"math"

	"railtally/internal/cooling"
	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// ThermalMap draws a point's temperature over power and room: lines of equal
// temperature, the line on which the limit is met with its band, and where the
// limit is broken.
func ThermalMap(m *cooling.Map, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	if m == nil || len(m.Powers) < 2 {
		return nil, errors.New("chart: no map to draw")
	}
	for _, row := range m.Celsius {
		for _, t := range row {
			if math.IsNaN(t) || math.IsInf(t, 0) {
				return nil, fmt.Errorf("chart: map of %s: a temperature is %g", m.Point.Name, t)
			}
		}
	}
	sub := subject{kind: "map", title: o.w.Text("Temperature of %s over power and room", m.Point.Name),
		explained: o.w.Text("Lines join equal temperatures of the %s.", m.Point.Name)}
	if m.Limited {
		limit, level := phrase.Number(quantity.Format(m.Limit, quantity.Celsius, 3)), o.w.soft(m.Level)
		sub.explained = o.w.Text("Thick line: the %s meets its limit of %s. Shaded: it may be kept or not. Hatched: it is broken, with %s probability or more. Left of all that it is kept with %s.", m.Point.Name, limit, level, level)
		for i := 0; i < len(m.Rooms); i += max(1, len(m.Rooms)/4) {
			sub.summary += o.w.Text("in %.0f °C the limit is kept up to %s; ", m.Rooms[i], phrase.Number(quantity.Format(m.Surely[i], quantity.Watt, 3)))
		}
	}
	return compose(o, sub, func(s *sheet) { s.thermalMap(m) })
}

func (s *sheet) thermalMap(m *cooling.Map) {
	last := len(m.Powers) - 1
	f := s.newFrame(m.Powers[0], m.Powers[last], m.Rooms[0], m.Rooms[len(m.Rooms)-1], s.o.w.Text("power, W"), s.o.w.Text("room, °C"), 0.4*s.t)
	if m.Limited {
		f.mapRegions(m)
	}
	f.isotherms(m)
	if m.Limited {
		f.mapLine(m.Meets, m.Rooms, math.Max(2, 0.2*s.t))
	}
	s.stroke(rectangle(f.x.p0, f.y.p1, f.x.p1-f.x.p0, f.y.p0-f.y.p1), look.Edge, 1)
	if !math.IsNaN(m.AskPower) {
		c := f.at(m.AskPower, m.AskRoom)
		s.shape(shape{path: circle(c.x, c.y, 0.42*s.t), fill: ink(look.Accent), stroke: ink(look.Paper), width: 2})
		l := label{text: s.o.w.Text("asked for"), size: s.small(), bold: true, role: look.Ink}
		w := s.face.width(l.text, l.size, true)
		s.textWhere(l, point{c.x + 0.7*s.t, c.y - 0.5*s.t}, point{c.x - 0.7*s.t - w, c.y - 0.5*s.t}, point{c.x + 0.7*s.t, c.y + 1.2*s.t},
			point{c.x - 0.7*s.t - w, c.y + 1.2*s.t}, point{c.x - w/2, c.y - 2*s.t}, point{c.x - w/2, c.y + 2.4*s.t})
	}
}

// mapRegions shades the band of the limit and hatches what breaks it.
func (f *frame) mapRegions(m *cooling.Map) {
	clamp := func(p float64) float64 { return math.Min(f.x.hi, math.Max(f.x.lo, p)) }
	var band, beyond []point
	for i, room := range m.Rooms {
		band = append(band, f.at(clamp(m.Surely[i]), room))
		beyond = append(beyond, f.at(clamp(m.Hopeless[i]), room))
	}
	for i := len(m.Rooms) - 1; i >= 0; i-- {
		band = append(band, f.at(clamp(m.Hopeless[i]), m.Rooms[i]))
	}
	f.fill(polygon(band...), look.WarnSoft)
	top, bottom := m.Rooms[len(m.Rooms)-1], m.Rooms[0]
	f.fill(polygon(append(append([]point(nil), beyond...), f.at(f.x.hi, top), f.at(f.x.hi, bottom))...), look.BadSoft)
	// Hatching, so that it is seen without colour: level strokes from where the
	// limit is broken to the edge.
	rows := int((f.y.p0 - f.y.p1) / (0.8 * f.t))
	for j := 1; j < rows; j++ {
		room := bottom + (top-bottom)*float64(j)/float64(rows)
		x := clamp(between(m.Rooms, m.Hopeless, room))
		if x < f.x.hi {
			f.stroke(polyline(f.at(x, room), f.at(f.x.hi, room)), look.Line, 1)
		}
	}
}

// between interpolates y(x) over ascending x.
func between(x, y []float64, at float64) float64 {
	for i := 1; i < len(x); i++ {
		if at <= x[i] {
			w := (at - x[i-1]) / (x[i] - x[i-1])
			return y[i-1] + w*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

// mapLine draws a line of powers over rooms, where it lies in the frame.
func (f *frame) mapLine(powers, rooms []float64, width float64) {
	if in := f.inside(powers, rooms); len(in) > 1 {
		f.stroke(polyline(in...), look.Ink, width)
	}
}

// isotherms draws lines of equal temperature with their numbers.
func (f *frame) isotherms(m *cooling.Map) {
	last := len(m.Powers) - 1
	lo, hi := m.Celsius[0][0], m.Celsius[len(m.Rooms)-1][last]
	step := math.Max(5, roundStep((hi-lo)/9))
	for t := math.Ceil(lo/step) * step; t < hi; t += step {
		var powers, rooms []float64
		for i, room := range m.Rooms {
			row := m.Celsius[i]
			if t >= row[0] && t <= row[last] {
				powers, rooms = append(powers, between(row, m.Powers, t)), append(rooms, room)
			}
		}
		in := f.inside(powers, rooms)
		if len(in) < 2 {
			continue
		}
		f.stroke(polyline(in...), look.Muted, 1)
		text := f.o.w.tickText(t) + " °C"
		l := label{text: text, size: f.small(), role: look.Ink}
		w := f.face.width(text, l.size, false)
		var places []point
		for _, part := range []float64{0.12, 0.3, 0.5, 0.7, 0.9} {
			p := in[int(part*float64(len(in)-1))]
			if p.x+0.3*f.t+w < f.x.p1 && p.y-1.2*l.size > f.y.p1 {
				places = append(places, point{p.x + 0.3*f.t, p.y - 0.25*l.size})
			}
		}
		f.textWhere(l, places...)
	}
}
