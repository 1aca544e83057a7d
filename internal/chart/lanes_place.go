package chart

import (
	"math"

	"railtally/internal/quantity"
)

// lanesPlace is where the parts of the rail lanes stand.
type lanesPlace struct {
	column column  // of the powers
	scale  float64 // pixels for each watt
	least  float64 // width of the thinnest lane
	power  float64 // left edge of the powers
	amps   float64 // right edge of the currents
	texts  float64 // right end of the texts, where lanes may bend
	chip   float64 // the chip's left edge
	thick  float64 // of the chip's edge
	total  float64 // left edge of the total
	bottom float64
}

// placeLanes decides on columns, scale and rows.
func (s *sheet) placeLanes(set laneSet) lanesPlace {
	p := lanesPlace{column: s.newColumn(quantity.Watt, s.t, set.powers()...), thick: 0.55 * s.t, least: math.Max(2, 0.18*s.t)}
	for _, l := range set.list {
		if l.rail != nil && l.bounded() {
			p.column.value = math.Max(p.column.value, s.face.width(boundText(l.rail, quantity.Watt), s.t, true)-p.column.gap-p.column.u)
		}
	}
	if s.narrow() {
		p.chip = s.right - p.thick
		p.texts = p.chip - 0.15*s.o.Width
		p.power = p.texts - p.column.width()
		p.amps = p.texts
	} else {
		p.total = s.right - s.totalWidth(set)
		p.chip = p.total - 0.9*s.t - p.thick
		bend := math.Max(0.14*s.o.Width, 5*s.t)
		if !set.any(func(l *lane) bool { return l != set.list[0] && l.enters() }) {
			bend = 2 * s.t // a single lane goes straight
		}
		p.texts = p.chip - bend
		p.power = p.texts - p.column.width()
		p.amps = p.power - 1.8*s.t
	}
	s.scaleLanes(set, &p)
	s.rowLanes(set, &p)
	return p
}

// scaleLanes chooses the pixels for a watt, so that neither the widest lane nor
// all together outgrow the drawing.
func (s *sheet) scaleLanes(set laneSet, p *lanesPlace) {
	most, sum := 0.0, 0.0
	for _, l := range set.list {
		most = math.Max(most, math.Max(l.power, l.drawn))
		if l.enters() {
			sum += math.Max(0, l.power)
		}
	}
	if most > 0 {
		p.scale = 4.2 * s.t / most
		rows := float64(len(set.list)) * 4.2 * s.t
		p.scale = math.Min(p.scale, math.Max(6*s.t, 0.5*rows)/math.Max(sum, most))
		p.scale *= 0.5 + 0.5*s.spread
	}
	for _, l := range set.list {
		l.width = math.Max(p.least, p.scale*l.power)
		l.gross = math.Max(l.width, p.scale*l.drawn)
		if len(l.kids) > 0 && l.gross-l.width < p.least {
			l.gross = l.width + p.least
		}
	}
}

// Room on a row, in parts of the type size.
const (
	tapRoom    = 3.4 // from the feed to where a lane may branch
	tapOver    = 0.5 // what a tap stands out over its lane
	tapLeast   = 0.72
	textAbove  = 1.25
	branchRoom = 0.9
)

// rowLanes gives each lane its row: texts above, the lane below them.
func (s *sheet) rowLanes(set laneSet, p *lanesPlace) {
	for i, l := range set.list {
		if i > 0 {
			s.y += 0.75 * s.t * s.spread
		}
		l.x0 = s.left
		if l.parent != nil {
			l.x0 = l.parent.x0 + (tapRoom+branchRoom)*s.t
			for _, k := range l.parent.kids {
				l.x0 += s.branchWidth(k, p) + 0.2*s.t
			}
			// Whatever hangs on what, the texts keep some room.
			l.x0 = math.Min(l.x0, s.left+0.35*(p.texts-s.left))
		}
		l.tap = l.x0 + 1.6*s.t
		lines := 1.0
		if s.narrow() {
			lines = 2
		}
		s.y += textAbove * lines * s.t
		over := math.Max(tapOver*s.t, tapLeast*s.t-l.gross/2)
		s.y += over
		l.y = s.y + l.width/2
		s.y += l.gross + over
	}
	p.bottom = s.y
}

// branchWidth is the width of what a lane takes from the one it hangs on.
func (s *sheet) branchWidth(l *lane, p *lanesPlace) float64 {
	return math.Max(p.least, math.Min(l.gross, l.parent.gross-l.parent.width))
}
