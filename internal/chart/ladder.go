package chart

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Ladder draws the way of the heat: rungs at their temperatures, the room at
// the foot, resistances between them; beside it the way by the board, where the
// model tells the two apart.
func Ladder(h *cooling.HeatPath, level float64, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	if h == nil || len(h.Rungs) < 2 || len(h.Steps) != len(h.Rungs)-1 {
		return nil, fmt.Errorf("chart: no way of the heat to draw")
	}
	var parts []string
	for i, r := range h.Rungs {
		if err := finite(r.Temperature, r.Name+": temperature"); err != nil {
			return nil, err
		}
		part := r.Name + " " + o.w.rungText(r)
		if i > 0 {
			if err := finite(h.Steps[i-1], r.Name+": resistance"); err != nil {
				return nil, err
			}
			part += ", " + o.w.Text("%s above %s", o.w.written(h.Steps[i-1], quantity.KelvinPerWatt), h.Rungs[i-1].Name)
		}
		parts = append(parts, part)
	}
	sub := subject{kind: "ladder", title: o.w.Text("Way of the heat"), summary: strings.Join(parts, "; "),
		explained: o.w.Text("At %s. Rungs stand at their temperatures, their soft edge is the %s coverage interval; between them the kelvins for each watt of the chip.",
			o.w.written(h.Power, quantity.Watt), o.w.soft(level))}
	return compose(o, sub, func(s *sheet) { s.ladder(h) })
}

// rungText is a rung's temperature in words; an exact one has no interval.
func (w words) rungText(r cooling.Rung) string {
	if r.Temperature.Expanded == 0 {
		return w.number(quantity.Format(r.Temperature.Estimate, quantity.Celsius, 3))
	}
	return w.written(r.Temperature, quantity.Celsius)
}

// ladderPlace is where the legs and the words of a ladder stand.
type ladderPlace struct {
	x0, x1 float64 // legs
	words  float64 // left edge of the figures
	ys     []float64
	perK   float64 // pixels for each kelvin
}

func (s *sheet) ladder(h *cooling.HeatPath) {
	n := len(h.Rungs)
	var names []string
	for _, r := range h.Rungs {
		names = append(names, r.Name)
	}
	namesWidth := math.Min(s.widest(s.t, true, names...), 0.22*(s.right-s.left))
	p := ladderPlace{x0: s.left + namesWidth + s.t}
	p.x1 = p.x0 + math.Max(5*s.t, math.Min(0.22*(s.right-s.left), 11*s.t))
	p.words = p.x1 + 1.2*s.t
	p.place(h, s.y+1.2*s.t, 4.6*s.t*s.spread, 20*s.t*s.spread)
	foot := p.ys[0]

	w := math.Max(1.5, 0.14*s.t)
	for _, x := range []float64{p.x0, p.x1} {
		s.stroke(polyline(point{x, p.ys[n-1] - 0.8*s.t}, point{x, foot}), look.Edge, w)
	}
	for i := range n {
		s.rung(h, p, i, namesWidth)
	}
	for i := 1; i < n; i++ {
		s.rungStep(h, p, i)
	}
	if h.Split && h.Down > 0 && !s.narrow() {
		s.boardLeg(h, p)
	}
	s.y = foot + 1.6*s.t
	if h.Split {
		s.split(h)
	}
}

// place finds the heights of the rungs: in proportion to kelvins, but never
// closer than least.
func (p *ladderPlace) place(h *cooling.HeatPath, top, least, height float64) {
	n := len(h.Rungs)
	span := h.Rungs[n-1].Temperature.Estimate - h.Rungs[0].Temperature.Estimate
	p.perK = height / math.Max(span, 1e-9)
	gaps := make([]float64, n)
	total := 0.0
	for i := 1; i < n; i++ {
		gaps[i] = math.Max(least, p.perK*(h.Rungs[i].Temperature.Estimate-h.Rungs[i-1].Temperature.Estimate))
		total += gaps[i]
	}
	p.ys = make([]float64, n)
	p.ys[0] = top + total
	for i := 1; i < n; i++ {
		p.ys[i] = p.ys[i-1] - gaps[i]
	}
}

// rung draws one rung with its name, its temperature and its limit.
func (s *sheet) rung(h *cooling.HeatPath, p ladderPlace, i int, namesWidth float64) {
	r, y := h.Rungs[i], p.ys[i]
	s.group(r.Name+": "+s.o.w.rungText(r), func() {
		if e := math.Min(p.perK*r.Temperature.Expanded, 1.2*s.t); e > 0.5 {
			s.fill(rectangle(p.x0, y-e, p.x1-p.x0, 2*e), look.AccentSoft)
		}
		role := look.Accent
		if i == 0 {
			role = look.Edge
		}
		s.fill(rectangle(p.x0, y-0.12*s.t, p.x1-p.x0, 0.24*s.t), role)
		s.text(label{x: s.left, y: y + 0.35*s.t, text: s.face.clip(r.Name, namesWidth, s.t, true), size: s.t, bold: true, role: look.Ink})
		s.text(label{x: p.words, y: y + 0.35*s.t, text: s.face.clip(s.o.w.rungText(r), s.right-p.words, s.t, true), size: s.t, bold: true, role: look.Ink})
		if r.Limited {
			text := s.o.w.Text("limit %s", phrase.Number(quantity.Format(r.Limit, quantity.Celsius, 3)))
			role := look.Muted
			if r.Temperature.Estimate > r.Limit {
				text, role = text+", exceeded", look.Bad
			}
			s.text(label{x: p.words, y: y + 1.55*s.t, text: s.face.clip(text, s.right-p.words, s.small(), false), size: s.small(), role: role})
		}
	})
}

// rungStep draws the resistance between a rung and the one below.
func (s *sheet) rungStep(h *cooling.HeatPath, p ladderPlace, i int) {
	from, to := p.ys[i]+0.4*s.t, p.ys[i-1]-0.4*s.t
	x, half := (p.x0+p.x1)/2, 0.55*s.t
	mid := (from + to) / 2
	length := math.Min(2.6*s.t, to-from)
	pts := []point{{x, from}, {x, mid - length/2}}
	const turns = 6
	for j := range turns {
		side := half
		if j%2 == 1 {
			side = -half
		}
		pts = append(pts, point{x + side, mid - length/2 + length*(float64(j)+0.5)/turns})
	}
	pts = append(pts, point{x, mid + length/2}, point{x, to})
	s.stroke(polyline(pts...), look.Ink, math.Max(1.2, 0.1*s.t))
	text := s.o.w.written(h.Steps[i-1], quantity.KelvinPerWatt)
	y := mid + 0.35*s.small()
	if to-from < 6.5*s.t { // between the rung's limit and the rung below
		y = p.ys[i-1] - 1.1*s.t
	}
	s.text(label{x: p.words, y: y, text: s.face.clip(text, s.right-p.words, s.small(), false), size: s.small(), role: look.Muted})
}

// boardLeg draws the way from the case through the board to the room.
func (s *sheet) boardLeg(h *cooling.HeatPath, p ladderPlace) {
	top := len(p.ys) - 1
	for i, r := range h.Rungs {
		if r.Kind == study.CasePoint {
			top = i
		}
	}
	words := 0.0
	for i, r := range h.Rungs {
		words = math.Max(words, s.face.width(s.o.w.rungText(r), s.t, true))
		if i > 0 {
			words = math.Max(words, s.face.width(s.o.w.written(h.Steps[i-1], quantity.KelvinPerWatt), s.small(), false))
		}
	}
	x := p.words + words + 3*s.t
	w := math.Max(1.2, 0.1*s.t)
	s.stroke(polyline(point{p.words + words + 0.6*s.t, p.ys[top]}, point{x, p.ys[top]}, point{x, p.ys[0]}, point{p.words + words + 0.6*s.t, p.ys[0]}), look.Edge, w, 0.5*s.t, 0.35*s.t)
	mid := (p.ys[top] + p.ys[0]) / 2
	s.fill(rectangle(x-0.35*s.t, mid-1.3*s.t, 0.7*s.t, 2.6*s.t), look.Edge)
	room := s.right - x - s.t
	s.text(label{x: x + s.t, y: mid - 0.1*s.t, text: s.face.clip(s.o.w.Text("the board"), room, s.t, true), size: s.t, bold: true, role: look.Ink})
	s.text(label{x: x + s.t, y: mid + 1.1*s.t, text: s.face.clip(s.o.w.Text("%s, by the model", phrase.Number(quantity.Format(h.Down, quantity.Watt, 2))), room, s.small(), false), size: s.small(), role: look.Muted})
}

// split draws which way the heat goes, as parts of one bar.
func (s *sheet) split(h *cooling.HeatPath) {
	type part struct {
		name  string
		watts float64
		role  look.Role
	}
	list := []part{{s.o.w.Text("by the sink to the air"), h.Up - h.Radiated, look.Accent}, {s.o.w.Text("by the sink as radiation"), h.Radiated, look.AccentSoft}}
	if h.Down > 0 {
		list = append(list, part{s.o.w.Text("by the board"), h.Down, look.Edge})
	}
	total := h.Up + math.Max(h.Down, 0)
	x, height := s.left, 0.9*s.t
	for _, p := range list {
		w := (s.right - s.left) * p.watts / total
		s.group(p.name+": "+quantity.Format(p.watts, quantity.Watt, 2), func() { s.fill(rectangle(x, s.y, math.Max(w-1, 0.5), height), p.role) })
		x += w
	}
	s.y += height + 0.3*s.t
	size := s.small()
	for _, p := range list {
		s.fill(rectangle(s.left, s.y+0.25*size, 0.62*size, 0.62*size), p.role)
		s.text(label{x: s.left + size, y: s.y + 0.85*size, text: s.face.clip(s.o.w.Text("%s %s, by the model", phrase.Number(quantity.Format(p.watts, quantity.Watt, 2)), p.name), s.right-s.left-size, size, false), size: size, role: look.Ink})
		s.y += 1.35 * size
	}
}
