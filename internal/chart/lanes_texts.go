package chart

import (
	"unicode/utf8"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// laneTexts writes name, voltage and tap, current and power above the lane.
func (s *sheet) laneTexts(l *lane, p lanesPlace) {
	base := l.y - l.width/2 - s.over(l) - textBelow*s.t
	if p.narrow {
		s.laneTextsNarrow(l, p, base)
		return
	}
	x := s.left
	if l.parent != nil {
		x = l.x0
	}
	limit := p.power - 1.2*s.t
	if a := p.ampsText(l); a != "" {
		s.text(label{x: p.amps, y: base, text: a, size: s.t, role: look.Ink, anchor: end})
		limit = p.amps - s.face.width(a, s.t, false) - s.t
	}
	name := s.face.clip(l.spec.Name, (limit-x)*0.6, s.t, true)
	at := s.text(label{x: x, y: base, text: name, size: s.t, bold: true, role: look.Ink}) + 0.6*s.t
	if v := p.voltsText(l); at+s.face.width(v, s.t, false) < limit {
		at = s.text(label{x: at, y: base, text: v, size: s.t, role: look.Ink}) + 0.8*s.t
		s.text(label{x: at, y: base, text: s.face.clipOrNothing(s.o.w.howText(l), limit-at, s.small()), size: s.small(), role: look.Muted})
	}
	s.lanePower(l, p, base)
}

// laneTextsNarrow takes two lines: name and power, then the rest as far as
// there is room.
func (s *sheet) laneTextsNarrow(l *lane, p lanesPlace, base float64) {
	upper := base - textAbove*s.t
	room := p.power - l.x0 - 0.5*s.t
	s.text(label{x: l.x0, y: upper, text: s.face.clip(l.spec.Name, room, s.t, true), size: s.t, bold: true, role: look.Ink})
	s.lanePower(l, p, upper)
	size, text := s.small(), ""
	for _, part := range []string{p.voltsText(l), p.ampsText(l), s.o.w.howText(l)} {
		next := text
		if text != "" && part != "" {
			next += ", "
		}
		if next += part; s.face.width(next, size, false) <= p.texts-l.x0 {
			text = next
		}
	}
	s.text(label{x: l.x0, y: base, text: text, size: size, role: look.Muted})
}

func (s *sheet) lanePower(l *lane, p lanesPlace, y float64) {
	switch {
	case l.rail == nil && l.bounded(): // the bound's power needs a voltage
	case l.rail == nil:
		s.text(label{x: p.power, y: y, text: s.o.w.Text("not read"), size: s.t, role: look.Warn})
	case l.bounded():
		s.text(label{x: p.power, y: y, text: s.o.w.boundText(l.rail, p.column.prefix), size: s.t, bold: true, role: look.Ink})
	default:
		s.figure(p.column, l.rail.Power, p.power, y)
	}
}

func (p lanesPlace) ampsText(l *lane) string {
	switch {
	case l.rail == nil:
		return ""
	case l.bounded():
		return p.column.w.boundText(l.rail, p.amperes)
	}
	return p.column.w.shortFigure(l.rail.Current, p.amperes)
}

// shortFigure is an estimate alone, to the place that its interval supports.
func (w words) shortFigure(f tally.Figure, p quantity.Prefix) string {
	text := p.Format(f.Estimate, digits(f))
	if utf8.RuneCountInString(text) > 9 { // too small for the column's prefix
		text = quantity.Format(f.Estimate, p.Unit(), digits(f))
	}
	return w.number(text)
}

func (p lanesPlace) voltsText(l *lane) string {
	if l.rail == nil {
		return p.column.w.Number(p.volts.Format(l.spec.Nominal.Value(), 3))
	}
	text := p.column.w.shortFigure(l.rail.Voltage, p.volts)
	if l.rail.Stands {
		text += " " + p.column.w.Text("nominal")
	}
	return text
}

// howText says how the rail was opened.
func (w words) howText(l *lane) string {
	if l.bounded() {
		return w.Text("not opened")
	}
	if len(l.spec.Taps) == 0 {
		return ""
	}
	text := w.tapText(l.spec.Taps[0])
	if n := len(l.spec.Taps); n > 1 {
		text = w.Text("%d phases, %s", n, text)
	}
	switch l.spec.Feed {
	case "", study.SenseResistor:
		return text
	case study.Wire:
		return w.Text("%s in the wire", text)
	}
	return w.Text("%s at %s", text, phrase.Word(l.spec.Feed))
}
