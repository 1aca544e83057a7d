package cooling

import (
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Causes of uncertainty that a temperature adds to those of package sensing.
const (
	CauseThermometer = "thermometer specification"
	CauseRoom        = "room temperature"
	CauseEmissivity  = "emissivity"
	CausePlacing     = "scatter of temperatures"
	CauseExponent    = "exponent of the rise"
	CauseModel       = "distance from what was measured"
	CauseSettling    = "settling"
	CauseAsked       = "what is asked for"
)

func tagged(cause string, more ...string) []gum.Tag {
	out := []gum.Tag{{Key: sensing.TagCause, Value: cause}}
	for i := 0; i+1 < len(more); i += 2 {
		if more[i+1] != "" {
			out = append(out, gum.Tag{Key: more[i], Value: more[i+1]})
		}
	}
	return out
}

// bench hands out the inputs of temperatures, one for each physical cause.
type bench struct {
	g      *gum.Graph
	study  *study.Study
	shared map[string]gum.Value
}

func (b *bench) once(key string, in gum.Input) gum.Value {
	v, ok := b.shared[key]
	if !ok {
		v = b.g.Input(in)
		b.shared[key] = v
	}
	return v
}

// room is the temperature of a sitting's room, in °C.
func (b *bench) room(x *study.Sitting) gum.Value {
	return b.once("room "+x.Name, gum.Input{Name: x.Name + ": room", Dist: sensing.Within(*x.Room, x.Room.Step),
		Tags: tagged(CauseRoom, sensing.TagSitting, x.Name)})
}

// thermometer finds what read a temperature, and its range.
func (b *bench) thermometer(x *study.Sitting, rd study.Reading) (*study.Instrument, *study.Range) {
	name := rd.Meter
	if name == "" {
		name = x.Thermometer
	}
	in := b.study.Instrument(name)
	if in == nil {
		return nil, nil
	}
	if rd.Range != "" {
		return in, in.Range(rd.Range)
	}
	return in, sensing.SmallestRange(in, quantity.Celsius, math.Abs(rd.Value()))
}

// accuracy is the error of a thermometer at a temperature, in K: its place s
// in the accuracy line, one for the instrument and range, times the half-width
// of the line. Not Valid where no line is known.
func (b *bench) accuracy(in *study.Instrument, r *study.Range, celsius, room float64) gum.Value {
	if in == nil || r == nil {
		return gum.Value{}
	}
	lim, ok := sensing.LimitsOf(r, room)
	if !ok || lim.HalfWidth(celsius) == 0 {
		return gum.Value{}
	}
	var d gum.Distribution = gum.Rectangular{Lo: -1, Hi: 1}
	if k := r.Spec.K; k > 0 {
		d = gum.Normal{U: 1 / k}
	} else if p := r.Spec.Level; p > 0 {
		d = gum.Normal{U: 1 / (math.Sqrt2 * math.Erfinv(p))}
	}
	s := b.once("thermometer "+in.Name+" "+r.Name, gum.Input{Name: in.Name + ": " + CauseThermometer, Dist: d,
		Tags: tagged(CauseThermometer, sensing.TagInstrument, in.Name)})
	return s.Scale(lim.HalfWidth(celsius))
}

// displayed is what the display showed of a temperature: its own scatter or
// band, and its last digit.
func (b *bench) displayed(name string, e quantity.Entry, r *study.Range) gum.Value {
	step := e.Step
	if r != nil && r.Digit != nil {
		step = math.Max(step, r.Digit.Value())
	}
	v := b.g.Input(gum.Input{Name: name, Dist: sensing.Within(e, 0), Tags: tagged(sensing.CauseBand)})
	if step > 0 && e.Tol == nil {
		v = v.Add(b.g.Input(gum.Input{Name: name + ", last digit", Dist: gum.Rectangular{Lo: -step / 2, Hi: step / 2},
			Tags: tagged(sensing.CauseResolution)}))
	}
	return v
}
