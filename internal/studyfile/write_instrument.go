package studyfile

import (
	"reflect"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

func instrumentOut(in *study.Instrument) *out {
	o := newMap()
	o.say("kind", string(in.Kind))
	o.say("ident", in.Ident)
	o.say("note", in.Note)
	o.put("jaw", optional(in.Jaw))
	switch {
	case in.Shunt != nil:
		o.put("resistance", entryOut(&in.Shunt.Resistance))
		strayOut(o, in.Shunt)
	case len(in.Ranges) == 1 && in.Ranges[0].Name == "":
		rangeOut(o, in.Ranges[0])
	default:
		ranges := newMap()
		for _, rg := range in.Ranges {
			r := newMap()
			rangeOut(r, rg)
			r.put("calibrated", calibrationOut(rg.Calibration))
			ranges.put(rg.Name, r)
		}
		o.put("ranges", ranges.orNil())
	}
	o.put("calibrated", calibrationOut(in.Calibration))
	return o
}

// rangeOut writes what a range and an instrument written flat have in common.
func rangeOut(o *out, rg *study.Range) {
	if rg.Scale != 0 {
		o.say("scale", scaleText(rg.Scale))
	}
	o.put("digit", optional(rg.Digit))
	if rg.To != nil {
		if e, err := quantity.Parse(rg.Name, rg.Measures, ""); err != nil || !reflect.DeepEqual(e, *rg.To) {
			o.put("to", entryOut(rg.To))
		}
	}
	if rg.Spec != nil {
		o.say("spec", rg.Spec.String())
	}
	if rg.TempCo != nil {
		o.say("temperature", rg.TempCo.String())
	}
	if rg.ZeroDrift != 0 {
		o.say("zero drift", quantity.Rate{Value: rg.ZeroDrift, Num: quantity.Ampere, Den: quantity.Second}.String())
	}
	if rg.Position != 0 {
		o.say("position", "±"+percentText(rg.Position))
	}
	o.put("averages", optional(rg.Averages))
}

// scaleText writes a clamp's scale in volts per ampere, as makers do, unless
// only the reciprocal reads back exactly.
func scaleText(scale float64) string {
	t := quantity.Rate{Value: 1 / scale, Num: quantity.Volt, Den: quantity.Ampere}.String()
	if x, err := quantity.ParseRatio(t, quantity.Ampere, quantity.Volt); err == nil && x == scale {
		return t
	}
	return quantity.Rate{Value: scale, Num: quantity.Ampere, Den: quantity.Volt}.String()
}

// strayOut writes what may change a resistor or add to its voltage.
func strayOut(o *out, v *study.ShuntValue) {
	if v.TempCo != 0 {
		o.say("temperature coefficient", quantity.Rate{Value: v.TempCo, Num: quantity.None, Den: quantity.Kelvin}.String())
	}
	if v.Heating != 0 {
		o.say("heating", amountText(v.Heating, quantity.Kelvin))
	}
	if v.EMF != 0 {
		o.say("thermal emf", "±"+amountText(v.EMF, quantity.Volt))
	}
}

func calibrationOut(c *study.Calibration) *out {
	if c == nil {
		return nil
	}
	o := newMap()
	if !c.On.IsZero() {
		o.say("on", c.On.UTC().Format(dayForm))
	}
	if !c.Due.IsZero() {
		o.say("due", c.Due.UTC().Format(dayForm))
	}
	o.put("correction factor", entryOut(&c.Factor))
	if c.Drift != 0 {
		o.say("drift", "±"+percentText(c.Drift))
	}
	o.say("by", c.By)
	return o
}
