package chart

import (
	"math"

	"railtally/internal/look"
)

// point is a place on the drawing in CSS pixels, y downwards.
type point struct{ x, y float64 }

// verb is a step of a path.
type verb uint8

const (
	moveTo verb = iota
	lineTo
	curveTo // cubic, with two control points
	closePath
)

// path is an outline, made of steps with their points.
type path struct {
	verbs  []verb
	points []point
}

func (p *path) move(x, y float64) *path { return p.add(moveTo, point{x, y}) }
func (p *path) line(x, y float64) *path { return p.add(lineTo, point{x, y}) }
func (p *path) close() *path            { return p.add(closePath) }
func (p *path) curve(x1, y1, x2, y2, x, y float64) *path {
	return p.add(curveTo, point{x1, y1}, point{x2, y2}, point{x, y})
}

func (p *path) add(v verb, pts ...point) *path {
	p.verbs = append(p.verbs, v)
	p.points = append(p.points, pts...)
	return p
}

func polygon(pts ...point) path {
	p := polyline(pts...)
	p.close()
	return p
}

func polyline(pts ...point) path {
	var p path
	for i, q := range pts {
		if i == 0 {
			p.move(q.x, q.y)
		} else {
			p.line(q.x, q.y)
		}
	}
	return p
}

func rectangle(x, y, w, h float64) path {
	return polygon(point{x, y}, point{x + w, y}, point{x + w, y + h}, point{x, y + h})
}

// ellipse is its arc from angle a to b in radians, clockwise on the drawing, by
// one cubic for each quarter turn or less (from memory: the usual 4/3·tan(δ/4)).
func ellipse(cx, cy, rx, ry, a, b float64) path {
	var p path
	n := int(math.Ceil(math.Abs(b-a)/(math.Pi/2) - 1e-9))
	d := (b - a) / float64(n)
	k := 4.0 / 3 * math.Tan(d/4)
	at := func(t float64) (x, y, dx, dy float64) {
		s, c := math.Sincos(t)
		return cx + rx*c, cy + ry*s, -rx * s, ry * c
	}
	for i := range n {
		x0, y0, dx0, dy0 := at(a + float64(i)*d)
		x1, y1, dx1, dy1 := at(a + float64(i+1)*d)
		if i == 0 {
			p.move(x0, y0)
		}
		p.curve(x0+k*dx0, y0+k*dy0, x1-k*dx1, y1-k*dy1, x1, y1)
	}
	return p
}

func circle(cx, cy, r float64) path {
	p := ellipse(cx, cy, r, r, 0, 2*math.Pi)
	p.close()
	return p
}

// paint is a colour or none.
type paint struct {
	role look.Role
	on   bool
}

func ink(r look.Role) paint { return paint{r, true} }

var none paint

// shape is an area or a line.
type shape struct {
	path         path
	fill, stroke paint
	width        float64
	dash         []float64
}

// anchor tells which end of a text stands at its point.
type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// label is one line of text; y is its baseline. A tail follows the text in a
// lighter tone, as an interval follows its estimate.
type label struct {
	x, y     float64
	text     string
	size     float64
	bold     bool
	role     look.Role
	anchor   anchor
	tail     string
	tailSize float64
	lead     float64 // where the tail begins behind it
	width    float64 // of the whole; both are measured when it is placed
}

// box is the area that the label's letters cover.
func (l label) box() (x0, y0, x1, y1 float64) {
	x0 = l.x
	switch l.anchor {
	case middle:
		x0 -= l.width / 2
	case end:
		x0 -= l.width
	}
	return x0, l.y - capHeight*l.size, x0 + l.width, l.y + descent*l.size
}

// mark is one thing drawn: a shape or a label. A mark may begin or end a group,
// whose tip a reader sees on pointing at it.
type mark struct {
	shape *shape
	label *label
	begin string // tip of a group that begins here
	end   bool
}
