package chart

import (
	"math"

	"railtally/internal/quantity"
)

// lanesPlace is where the parts of the rail lanes stand.
type lanesPlace struct {
	narrow         bool   // whether names and figures take two lines
	column         column // of the powers
	volts, amperes quantity.Prefix
	scale          float64 // pixels for each watt
	least          float64 // width of the thinnest lane
	power          float64 // left edge of the powers
	amps           float64 // right edge of the currents
	texts          float64 // right end of the texts, where lanes may bend
	names          float64 // right end of the names, whatever the row
	chip           float64 // the chip's left edge
	thick          float64 // of the chip's edge
	total          float64 // left edge of the total
	bottom         float64
}

// planLanes places the lanes and finds their way to the chip: with more room
// for the bends, then with thinner lanes, until the bends keep off the texts.
func (s *sheet) planLanes(set laneSet) (lanesPlace, *route) {
	top, bend, most, thin, narrow := s.y, 0.16*s.o.Width, 0.26*s.o.Width, 1.0, s.narrow()
	for {
		s.y = top
		p := s.placeLanes(set, bend, thin, narrow)
		r := newRoute(set.entering(), p.chip, p.texts+0.3*s.t, math.Max(1, 0.1*s.t))
		switch {
		case !narrow && p.names < s.left+11*s.t:
			narrow = true // long figures leave too little for the names
		case r.fits || thin < 0.2:
			return p, r
		case bend < most:
			bend *= 1.15
		default:
			thin *= 0.85
		}
	}
}

// entering lists the lanes that reach the chip.
func (set laneSet) entering() []*lane {
	var out []*lane
	for _, l := range set.list {
		if l.enters() {
			out = append(out, l)
		}
	}
	return out
}

// placeLanes decides on columns, scale and rows.
func (s *sheet) placeLanes(set laneSet, bend, thin float64, narrow bool) lanesPlace {
	p := lanesPlace{
		narrow: narrow,
		column: s.newColumn(quantity.Watt, s.t, set.powers()...),
		thick:  0.55 * s.t, least: math.Max(2, 0.18*s.t) * math.Max(thin, 0.6),
	}
	p.volts, p.amperes = set.prefixes()
	figures := p.column.width()
	for _, l := range set.list {
		if l.rail != nil && l.bounded() {
			figures = math.Max(figures, s.face.width(s.o.w.boundText(l.rail, p.column.prefix), s.t, true))
		}
	}
	if len(set.list) < 2 {
		bend = 2 * s.t // a single lane goes straight
	}
	p.chip = s.right - p.thick
	if p.narrow {
		// The figures come first, then the bends.
		bend = math.Min(bend, math.Max(s.t, p.chip-s.left-3.5*s.t-figures))
	} else {
		p.total = s.right - s.totalWidth(set)
		p.chip = p.total - 0.9*s.t - p.thick
	}
	p.texts = p.chip - bend
	p.power = p.texts - figures
	p.amps = p.power - 1.4*s.t
	p.names = p.power
	if !p.narrow {
		for _, l := range set.list {
			p.names = math.Min(p.names, p.amps-s.face.width(p.ampsText(l), s.t, false))
		}
	}
	s.scaleLanes(set, &p, thin)
	s.rowLanes(set, &p)
	return p
}

// prefixes are the ones that suit all voltages and all currents.
func (set laneSet) prefixes() (volts, amperes quantity.Prefix) {
	var v, i []float64
	for _, l := range set.list {
		if l.rail == nil {
			v = append(v, l.spec.Nominal.Value())
			continue
		}
		v, i = append(v, l.rail.Voltage.Estimate), append(i, l.rail.Current.Estimate)
	}
	return quantity.Scale(quantity.Volt, v...), quantity.Scale(quantity.Ampere, i...)
}

// scaleLanes chooses the pixels for a watt, so that neither the widest lane nor
// all together outgrow the drawing.
func (s *sheet) scaleLanes(set laneSet, p *lanesPlace, thin float64) {
	most, highest, sum := 0.0, 0.0, 0.0
	for _, l := range set.list {
		most = math.Max(most, math.Max(l.power, l.drawn))
		if l.rail != nil {
			highest = math.Max(highest, maxPower(l.rail))
		}
		if l.enters() {
			sum += math.Max(0, l.power)
		}
	}
	if most > 0 {
		widest := 4 * s.t
		if p.narrow {
			widest = 3.2 * s.t
		}
		together := math.Max(1.6*widest, 1.6*s.t*float64(len(set.list)))
		p.scale = math.Min(widest/most, together/math.Max(sum, most))
		p.scale = math.Min(p.scale, 1.7*widest/math.Max(highest, most))
		p.scale *= thin * (0.5 + 0.5*s.spread)
	}
	for _, l := range set.list {
		l.width = math.Max(p.least, p.scale*l.power)
		l.gross = math.Max(l.width, p.scale*l.drawn)
		if len(l.kids) > 0 && l.gross-l.width < p.least {
			l.gross = l.width + p.least
		}
		l.core, l.whole = l.width, l.width
		if l.rail != nil && !l.bounded() && l.power > 0 {
			// The interval is to scale, also on a lane drawn wider than its power.
			soft := p.scale * l.rail.Power.Expanded
			l.core, l.whole = math.Max(0, l.width-soft), l.width+soft
		}
	}
}

// Room on a row, in parts of the type size.
const (
	tapRoom    = 3.2 // from the feed to where a lane may branch
	tapOver    = 0.5 // what a tap stands out over its lane
	tapLeast   = 0.72
	textAbove  = 1.32
	textBelow  = 0.42 // from the baseline to what stands out of the lane
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
			l.x0 = math.Max(s.left, math.Min(l.x0, p.names-3.5*s.t))
		}
		l.tap = l.x0 + 1.6*s.t
		lines := 1.0
		if p.narrow {
			lines = 2
		}
		s.y += (textAbove*lines + textBelow - 0.3) * s.t
		s.y += s.over(l)
		l.y = s.y + l.width/2
		s.y += l.gross + s.over(l)
	}
	p.bottom = s.y
}

// over is how far a lane's tap or soft edge stands out over it.
func (s *sheet) over(l *lane) float64 {
	return math.Max(tapOver*s.t, math.Max(tapLeast*s.t-l.gross/2, (l.whole-l.width)/2+0.2*s.t))
}

// branchWidth is the width of what a lane takes from the one it hangs on.
func (s *sheet) branchWidth(l *lane, p *lanesPlace) float64 {
	return math.Max(p.least, math.Min(l.gross, l.parent.gross-l.parent.width))
}
