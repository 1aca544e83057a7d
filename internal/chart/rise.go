package chart

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// risePoints is how many points a curve is drawn with.
const risePoints = 60

// Rise draws the temperatures of a board over its room against power: what was
// read, the law through it with its interval, and what is asked for.
func Rise(c *cooling.Cooling, b *cooling.Board, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	var drawn []*cooling.Point
	var parts []string
	for _, p := range b.Points {
		if p.Law == nil || len(p.Readings) == 0 {
			continue
		}
		drawn = append(drawn, p)
		if err := finite(p.Law.Rise, b.Name+" "+p.Name+": rise"); err != nil {
			return nil, err
		}
		parts = append(parts, fmt.Sprintf("%s: %s at %s, as power to the %s", p.Name, written(p.Law.Rise, quantity.Kelvin),
			quantity.Format(p.Law.P0, quantity.Watt, 3), written(p.Law.Exponent, quantity.None)))
	}
	sub := subject{kind: "rise", title: "Rise over the room on " + b.Name, summary: strings.Join(parts, "; "),
		explained: "Marks are readings, lines the law through them, with its " + tally.Percent(c.Level) + " coverage interval."}
	return compose(o, sub, func(s *sheet) {
		if len(drawn) == 0 {
			s.nothing("No temperature was read beside a known power.")
			return
		}
		s.rise(c, b, drawn)
	})
}

func (s *sheet) rise(c *cooling.Cooling, b *cooling.Board, drawn []*cooling.Point) {
	power := 0.0
	for _, p := range drawn {
		power = math.Max(power, p.Law.PMax)
	}
	askPower := math.NaN()
	if b.Ask.Known() {
		askPower = b.Ask.Power.Estimate()
		power = math.Max(power, askPower)
	}
	power *= 1.15
	pressure := b.Ask.Pressure
	level := c.Level
	most := 0.0
	curves := make([]riseCurve, len(drawn))
	for i, p := range drawn {
		curves[i] = newRiseCurve(p, power, pressure, level)
		for _, y := range curves[i].hi {
			most = math.Max(most, y)
		}
		for _, r := range p.Readings {
			most = math.Max(most, r.Rise.Hi())
		}
	}
	words := make([]string, len(drawn))
	for i, p := range drawn {
		words[i] = p.Name
	}
	right := math.Min(s.widest(s.t, true, words...)+0.8*s.t, 0.25*(s.right-s.left))
	f := s.newFrame(0, power, 0, most*1.03, "power, W", "kelvins over the room", right)
	for i := range drawn { // all bands below all lines
		f.riseBand(curves[i], i)
	}
	for i, p := range drawn {
		s.group(p.Name+": "+written(p.Law.Rise, quantity.Kelvin)+" at "+quantity.Format(p.Law.P0, quantity.Watt, 3), func() {
			s.stroke(polyline(f.inside(curves[i].power, curves[i].mid)...), look.Board(i), math.Max(1.6, 0.12*s.t))
		})
	}
	for i, p := range drawn {
		for _, r := range p.Readings {
			s.group(r.On.String()+", "+p.Name+": "+written(r.Rise, quantity.Kelvin)+" at "+written(r.Power, quantity.Watt), func() { f.riseReading(r, i) })
		}
	}
	for i, p := range drawn {
		end := f.at(power, curves[i].mid[risePoints])
		l := label{text: s.face.clip(p.Name, right-0.4*s.t, s.t, true), size: s.t, bold: true, role: look.Ink}
		var places []point
		for _, d := range []float64{0, 1.2, -1.2, 2.4, -2.4, 3.6, -3.6} {
			places = append(places, point{f.x.p1 + 0.4*s.t, end.y + 0.35*s.t + d*s.t})
		}
		s.textWhere(l, places...)
	}
	if !math.IsNaN(askPower) {
		x := f.x.at(askPower)
		s.stroke(polyline(point{x, f.y.p0}, point{x, f.y.p1}), look.Ink, 1, 2, 3)
		l := label{text: "asked for", size: s.small(), role: look.Muted, anchor: end}
		s.textWhere(l, point{x - 0.3*s.t, f.y.p1 + s.t}, point{x - 0.3*s.t, f.y.p0 - 0.5*s.t})
	}
}

// riseCurve is a law with its interval.
type riseCurve struct{ power, lo, mid, hi []float64 }

func newRiseCurve(p *cooling.Point, power, pressure, level float64) riseCurve {
	var c riseCurve
	k := p.Law.Rise.K // that of the law where it is known best
	for i := range risePoints + 1 {
		w := float64(i) / risePoints
		x := power * w * w // closer where it bends
		t, u := p.Line.At(x, p.Line.Room0, pressure)
		rise := t - p.Line.Room0
		if i == 0 {
			u = 0
		}
		c.power = append(c.power, x)
		c.lo, c.mid, c.hi = append(c.lo, math.Max(0, rise-k*u)), append(c.mid, rise), append(c.hi, rise+k*u)
	}
	return c
}

func (f *frame) riseBand(c riseCurve, i int) {
	var band []point
	for j, x := range c.power {
		band = append(band, f.at(x, c.hi[j]))
	}
	for j := len(c.power) - 1; j >= 0; j-- {
		band = append(band, f.at(c.power[j], c.lo[j]))
	}
	f.fill(polygon(band...), look.BoardSoft(i))
}

// riseReading draws a reading: its mark tells the points apart as its colour does.
func (f *frame) riseReading(r *cooling.Reading, i int) {
	c := f.at(r.Power.Estimate, r.Rise.Estimate)
	size := 0.3 * f.t
	f.stroke(polyline(f.at(r.Power.Estimate, r.Rise.Lo()), f.at(r.Power.Estimate, r.Rise.Hi())), look.Board(i), 1)
	fill := ink(look.Board(i))
	if r.LeftOut || r.Unsettled != nil {
		fill = ink(look.Paper)
	}
	var p path
	switch i % 3 {
	case 0:
		p = circle(c.x, c.y, size)
	case 1:
		p = rectangle(c.x-0.85*size, c.y-0.85*size, 1.7*size, 1.7*size)
	default:
		p = polygon(point{c.x, c.y - 1.2*size}, point{c.x + 1.2*size, c.y}, point{c.x, c.y + 1.2*size}, point{c.x - 1.2*size, c.y})
	}
	f.shape(shape{path: p, fill: fill, stroke: ink(look.Board(i)), width: 1.2})
}
