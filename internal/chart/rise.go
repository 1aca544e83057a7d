package chart

import (
	"math"
	"slices"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// risePoints is how many points a curve is drawn with.
const risePoints = 60

// Rise draws the temperatures of a board over its room against power: what was
// read, the law through it with its interval, what is asked for, and how far a
// limit lets the rise go in the room that is asked for.
func Rise(c *cooling.Cooling, b *cooling.Board, o Options) (*Drawing, error) {
	return RiseAfter(c, b, nil, o)
}

// RiseAfter is Rise with the curves that a trial would make of it; nil draws
// none.
func RiseAfter(c *cooling.Cooling, b *cooling.Board, t *cooling.Trial, o Options) (*Drawing, error) {
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
		parts = append(parts, o.w.Text("%s: %s at %s, as power to the %s", p.Name, o.w.written(p.Law.Rise, quantity.Kelvin),
			phrase.Number(quantity.Format(p.Law.P0, quantity.Watt, 3)), o.w.written(p.Law.Exponent, quantity.None)))
	}
	sub := subject{kind: "rise", title: o.w.Text("Rise over the room on %s", b.Name), summary: strings.Join(parts, "; "),
		explained: o.w.Text("Marks are readings, lines the law through them, with its %s coverage interval.", o.w.soft(c.Level))}
	after, err := riseAfter(b, drawn, t)
	if err != nil {
		return nil, err
	}
	if after != nil {
		sub.explained += " " + o.w.Text("Dashed: the %s after the change, with its interval.", after.point.Name)
	}
	if limits := riseLimits(b, drawn); len(limits) > 0 {
		sub.explained += " " + o.w.Text("Level: as far as a limit lets it rise in air of %s.", phrase.Number(quantity.Format(b.Ask.Room.Estimate(), quantity.Celsius, 3)))
	}
	return compose(o, sub, func(s *sheet) {
		if len(drawn) == 0 {
			s.nothing(o.w.Text("No temperature was read beside a known power."))
			return
		}
		s.rise(c, b, drawn, after)
	})
}

func (s *sheet) rise(c *cooling.Cooling, b *cooling.Board, drawn []*cooling.Point, after *riseChanged) {
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
	most := 0.0
	curves := make([]riseCurve, len(drawn))
	for i, p := range drawn {
		curves[i] = newRiseCurve(p.Line, p.Law.Rise.K, p.Line.Room0, power, pressure)
		for _, y := range curves[i].hi {
			most = math.Max(most, y)
		}
		for _, r := range p.Readings {
			most = math.Max(most, r.Rise.Hi())
		}
	}
	limits := riseLimits(b, drawn)
	for _, l := range limits {
		if l.rise < 2*most {
			most = math.Max(most, 1.12*l.rise) // with room above for what stands there
		}
	}
	var changed riseCurve
	if after != nil {
		changed = newRiseCurve(after.curve, after.k, after.room, power, pressure)
		for _, y := range changed.hi {
			most = math.Max(most, math.Min(y, 2*most))
		}
	}
	words := make([]string, len(drawn))
	for i, p := range drawn {
		words[i] = p.Name
	}
	right := math.Min(s.widest(s.t, true, words...)+0.8*s.t, 0.25*(s.right-s.left))
	f := s.newFrame(0, power, 0, most*1.03, s.o.w.Text("power, W"), s.o.w.Text("kelvins over the room"), right)
	for i := range drawn { // all bands below all lines
		f.riseBand(curves[i], look.BoardSoft(i))
	}
	if after != nil {
		f.riseBand(changed, look.AccentSoft)
		s.group(s.o.w.Text("%s after the change", after.point.Name), func() {
			s.stroke(polyline(f.inside(changed.power, changed.mid)...), look.Accent, math.Max(1.8, 0.14*s.t), 0.6*s.t, 0.35*s.t)
		})
	}
	for i, p := range drawn {
		s.group(s.o.w.Text("%s: %s at %s", p.Name, s.o.w.written(p.Law.Rise, quantity.Kelvin), phrase.Number(quantity.Format(p.Law.P0, quantity.Watt, 3))), func() {
			s.stroke(polyline(f.inside(curves[i].power, curves[i].mid)...), look.Board(i), math.Max(1.6, 0.12*s.t))
		})
	}
	for i, p := range drawn {
		for _, r := range p.Readings {
			s.group(s.o.w.Text("%s, %s: %s at %s", r.On, p.Name, s.o.w.written(r.Rise, quantity.Kelvin), s.o.w.written(r.Power, quantity.Watt)), func() { f.riseReading(r, i) })
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
	f.riseLimits(limits)
	if !math.IsNaN(askPower) {
		x := f.x.at(askPower)
		s.stroke(polyline(point{x, f.y.p0}, point{x, f.y.p1}), look.Ink, 1, 2, 3)
		l := label{text: s.o.w.Text("asked for"), size: s.small(), role: look.Muted, anchor: end}
		s.textWhere(l, point{x - 0.3*s.t, f.y.p1 + s.t}, point{x - 0.3*s.t, f.y.p0 - 0.5*s.t})
	}
}

// riseCurve is a law with its interval.
type riseCurve struct{ power, lo, mid, hi []float64 }

// newRiseCurve follows a curve in a room up to a power; k makes intervals of
// its standard uncertainties.
func newRiseCurve(of cooling.Curve, k, room, power, pressure float64) riseCurve {
	var c riseCurve
	for i := range risePoints + 1 {
		w := float64(i) / risePoints
		x := power * w * w // closer where it bends
		t, u := of.At(x, room, pressure)
		rise := t - room
		if i == 0 {
			u = 0
		}
		c.power = append(c.power, x)
		c.lo, c.mid, c.hi = append(c.lo, math.Max(0, rise-k*u)), append(c.mid, rise), append(c.hi, rise+k*u)
	}
	return c
}

// riseChanged is the curve that a trial makes of the point that decides.
type riseChanged struct {
	point   *cooling.Point
	curve   cooling.Curve
	k, room float64
}

func riseAfter(b *cooling.Board, drawn []*cooling.Point, t *cooling.Trial) (*riseChanged, error) {
	if t == nil || !b.Ask.Known() {
		return nil, nil
	}
	for _, pr := range t.Points {
		if !slices.Contains(drawn, pr.Point) || pr.Point.Line == nil {
			continue
		}
		curve, err := t.Curve(pr.Point)
		if err != nil {
			return nil, nil // nothing was measured that it could start from
		}
		return &riseChanged{pr.Point, curve, pr.Temperature.K, pr.Room.Estimate}, nil
	}
	return nil, nil
}

// riseLimit is how far a point may rise in the room that is asked for.
type riseLimit struct {
	name string
	rise float64
}

func riseLimits(b *cooling.Board, drawn []*cooling.Point) []riseLimit {
	var out []riseLimit
	if !b.Ask.Room.Valid() {
		return nil
	}
	for _, p := range drawn {
		if p.Limit == nil {
			continue
		}
		if r := p.Limit.Max.Value() - b.Ask.Room.Estimate(); r > 0 {
			out = append(out, riseLimit{p.Name, r})
		}
	}
	return out
}

// riseLimits draws the limits that lie in the frame.
func (f *frame) riseLimits(list []riseLimit) {
	for _, l := range list {
		if l.rise > f.y.hi {
			continue
		}
		y := f.y.at(l.rise)
		f.stroke(polyline(point{f.x.p0, y}, point{f.x.p1, y}), look.Bad, math.Max(1.6, 0.12*f.t))
		t := label{text: f.face.clip("limit of the "+l.name, f.x.p1-f.x.p0, f.small(), false), size: f.small(), role: look.Ink}
		f.textWhere(t, point{f.x.p0 + 0.4*f.t, y - 0.4*f.t}, point{f.x.p0 + 0.4*f.t, y + 1.1*f.t})
	}
}

func (f *frame) riseBand(c riseCurve, role look.Role) {
	var band []point
	top := func(y float64) float64 { return math.Min(y, f.y.hi) }
	for j, x := range c.power {
		band = append(band, f.at(x, top(c.hi[j])))
	}
	for j := len(c.power) - 1; j >= 0; j-- {
		band = append(band, f.at(c.power[j], top(c.lo[j])))
	}
	f.fill(polygon(band...), role)
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
