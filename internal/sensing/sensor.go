package sensing

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// CopperTempCo is the temperature coefficient of copper's resistance at 20 °C,
// in parts per kelvin (IEC 60028: 0.00393 for annealed copper at 20 °C; from
// memory).
const CopperTempCo = 0.00393

// sensorOf gives the part of the model that belongs to a tap's sensor.
func (b *Bench) sensorOf(p Place, tap *study.Tap) (sensor, error) {
	switch tap.Kind {
	case study.TapClamp:
		return b.clampSensor(p, tap)
	case study.TapSeries:
		return sensor{
			toAmps:  func(v gum.Value, _ float64) gum.Value { return v },
			perUnit: 1, name: tap.Instrument, limit: math.Inf(1), unit: quantity.Ampere,
		}, nil
	case study.TapShunt, study.TapSense, study.TapInductor:
		return b.resistorSensor(p, tap)
	}
	return sensor{}, fmt.Errorf("%s, %s: unknown kind of tap %q", p.Board.Name, p.Rail.Name, tap.Kind)
}

func (b *Bench) clampSensor(p Place, tap *study.Tap) (sensor, error) {
	in := b.study.Instrument(tap.Instrument)
	if in == nil {
		return sensor{}, fmt.Errorf("%s, %s: no instrument called %q", p.Board.Name, p.Rail.Name, tap.Instrument)
	}
	r := in.Range(tap.Range)
	if r == nil || r.Scale == 0 {
		return sensor{}, fmt.Errorf("%s, %s: %s has no range %q with a scale", p.Board.Name, p.Rail.Name, in.Name, tap.Range)
	}
	errs := b.errorsOf(in, r, p.Room())
	if !errs.known {
		b.noteNoSpec(p, in, r)
	}
	b.checkCalibration(p, in, r)
	return sensor{
		toAmps:   func(v gum.Value, side float64) gum.Value { return errs.apply(v.Scale(r.Scale), side) },
		perUnit:  r.Scale,
		name:     in.Name,
		residual: errs.residual,
		drift:    r.ZeroDrift,
		position: r.Position,
		limit:    Limit(r),
		clamp:    true,
		unit:     quantity.Volt,
	}, nil
}

// resistorSensor is a shunt, a sense resistor or a winding: I = (y + E)/R.
func (b *Bench) resistorSensor(p Place, tap *study.Tap) (sensor, error) {
	value, name := tap.Resistor, ""
	key := sharedKey{what: "R", board: p.Board.Name, rail: p.Rail.Name, tap: tap.Name}
	label := p.Board.Name + " " + p.Rail.Name + ": " + string(tap.Kind)
	if tap.Instrument != "" {
		in := b.study.Instrument(tap.Instrument)
		if in == nil || in.Shunt == nil {
			return sensor{}, fmt.Errorf("%s, %s: no shunt called %q", p.Board.Name, p.Rail.Name, tap.Instrument)
		}
		// One shunt moved from rail to rail keeps its error.
		value, name, label = in.Shunt, in.Name, in.Name
		key = sharedKey{what: "R", instrument: in.Name}
	}
	if value == nil {
		return sensor{}, fmt.Errorf("%s, %s: the %s has no resistance", p.Board.Name, p.Rail.Name, tap.Kind)
	}
	shuntTags := tags(TagInstrument, name, TagRail, p.Rail.Name, TagCause, CauseShunt)
	if name != "" {
		shuntTags = tags(TagInstrument, name, TagCause, CauseShunt)
	}
	r := b.once(key, func() gum.Value {
		return b.Input(label+": resistance", Within(value.Resistance, 0), shuntTags)
	})
	if a := value.TempCo * value.Heating; a > 0 {
		// How far it warms is known only as a limit, and the sign of the
		// coefficient not at all.
		key.what = "R heating"
		h := b.once(key, func() gum.Value {
			return b.Input(label+": self-heating", gum.Rectangular{Lo: -a, Hi: a}, shuntTags)
		})
		r = r.Mul(h.AddConst(1))
	}
	if tap.Winding != nil {
		// Copper: R = R₀ (1 + α (T − T₀)). α is stated at 20 °C; from another
		// reference it is α/(1 + α (T₀ − 20)).
		alpha := CopperTempCo / (1 + CopperTempCo*(tap.WindingRef-20))
		t := b.Input(p.name("temperature of the winding"), Within(*tap.Winding, tap.Winding.Step),
			p.tags(CauseWinding, ""))
		r = r.Mul(t.AddConst(-tap.WindingRef).Scale(alpha).AddConst(1))
	}
	toAmps := func(v gum.Value, _ float64) gum.Value { return v.Div(r) }
	if value.EMF > 0 {
		// A constant voltage of the leads' junctions: a zero takes it off.
		e := b.once(p.mounting("EMF", tap), func() gum.Value {
			return b.Input(p.mountingName(tap)+": thermal EMF",
				gum.Rectangular{Lo: -value.EMF, Hi: value.EMF}, p.tags(CauseEMF, name))
		})
		toAmps = func(v gum.Value, _ float64) gum.Value { return v.Add(e).Div(r) }
	}
	return sensor{
		toAmps: toAmps, perUnit: 1 / value.Resistance.Value(), name: name,
		limit: math.Inf(1), unit: quantity.Volt,
	}, nil
}
