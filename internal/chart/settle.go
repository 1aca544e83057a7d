package chart

import (
	"fmt"
	"math"

	"railtally/internal/cooling"
	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Settle draws a series of temperature readings over time: what was read, the
// curve through it, and the temperature that it tends to with its interval. A
// series that ends too early to tell has its readings alone.
func Settle(r *cooling.Reading, level float64, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	if r == nil || len(r.Seconds) < 2 {
		return nil, fmt.Errorf("chart: no series of readings to draw")
	}
	for _, x := range append(append([]float64(nil), r.Seconds...), r.Celsius...) {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, fmt.Errorf("chart: %s: a reading is %g", r.Name, x)
		}
	}
	sub := subject{kind: "settle", title: o.w.Text("How %s settles in %s", r.Name, r.On)}
	if x := r.Settling; x != nil {
		sub.summary = o.w.Text("%d readings over %.0f min; %s of the change was seen; it ends at %s", x.N, x.Minutes, phrase.Number(tally.Percent(math.Round(100*x.Seen)/100)), o.w.written(r.Temperature, quantity.Celsius))
		sub.explained = o.w.Text("Marks are readings, the line the curve through them; the level line is where it ends, with its %s coverage interval.", o.w.soft(level))
	} else {
		sub.summary = o.w.Text("%d readings, too early to say where they end", len(r.Seconds))
		sub.explained = o.w.Text("Marks are readings. Where they end cannot be said yet.")
	}
	return compose(o, sub, func(s *sheet) { s.settle(r) })
}

func (s *sheet) settle(r *cooling.Reading) {
	span := r.Seconds[len(r.Seconds)-1]
	end := span
	lo, hi := r.Celsius[0], r.Celsius[0]
	for _, c := range r.Celsius {
		lo, hi = math.Min(lo, c), math.Max(hi, c)
	}
	x := r.Settling
	if x != nil {
		end = span + math.Min(math.Max(0.25*span, 2*x.Tau), span)
		lo, hi = math.Min(lo, r.Temperature.Lo()), math.Max(hi, r.Temperature.Hi())
	}
	pad := math.Max(0.08*(hi-lo), 0.3)
	f := s.newFrame(0, end/60, lo-pad, hi+pad, s.o.w.Text("minutes"), "°C, "+r.Name, 0.4*s.t)
	if x != nil {
		s.group(s.o.w.Text("ends at %s", s.o.w.written(r.Temperature, quantity.Celsius)), func() {
			f.fill(polygon(f.at(0, r.Temperature.Hi()), f.at(end/60, r.Temperature.Hi()), f.at(end/60, r.Temperature.Lo()), f.at(0, r.Temperature.Lo())), look.AccentSoft)
			s.stroke(polyline(f.at(0, r.Temperature.Estimate), f.at(end/60, r.Temperature.Estimate)), look.Accent, math.Max(1.4, 0.1*s.t))
		})
		const steps = 80
		seconds := make([]float64, steps+1)
		for i := range seconds {
			seconds[i] = end * float64(i) / steps
		}
		minutes := make([]float64, len(seconds))
		for i, t := range seconds {
			minutes[i] = t / 60
		}
		s.stroke(polyline(f.inside(minutes, x.At(seconds))...), look.Ink, math.Max(1.4, 0.1*s.t))
		l := label{text: s.o.w.Text("ends at %s", s.o.w.written(r.Temperature, quantity.Celsius)), size: s.small(), bold: true, role: look.Ink}
		w := s.face.width(l.text, l.size, true)
		s.textWhere(l, point{f.x.p0 + 0.4*s.t, f.y.at(r.Temperature.Estimate) - 0.4*s.t}, point{f.x.p0 + 0.4*s.t, f.y.at(r.Temperature.Estimate) + 1.2*s.t},
			point{f.x.p1 - w - 0.4*s.t, f.y.p0 - 0.8*s.t})
	}
	for i, t := range r.Seconds {
		c := f.at(t/60, r.Celsius[i])
		s.group(s.o.w.Text("%.1f min: %.4g °C", t/60, r.Celsius[i]), func() {
			s.shape(shape{path: circle(c.x, c.y, 0.28*s.t), fill: ink(look.Paper), stroke: ink(look.Ink), width: 1.4})
		})
	}
}
