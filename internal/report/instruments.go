package report

import (
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// instrumentView is one instrument with what is known of its errors.
type instrumentView struct {
	ID, Name, Kind, Ident, Note string
	Facts                       []string // of a shunt
	Ranges                      []rangeView
	To, Digit, Scale            bool // whether any range says so
	Calibration                 []string
}

type rangeView struct {
	Name, To, Digit, Scale string
	Accuracy               string
	Others                 []string // temperature coefficient, zero drift, position
}

func (a *assembler) instruments() []*instrumentView {
	var out []*instrumentView
	for _, in := range a.t.Study.Instruments {
		v := &instrumentView{
			ID: a.anchors.part("instrument", in.Name), Name: in.Name, Kind: string(in.Kind), Ident: in.Ident, Note: prose(in.Note),
		}
		for _, r := range in.Ranges {
			v.Ranges = append(v.Ranges, rangeOf(r))
			v.To, v.Digit, v.Scale = v.To || r.To != nil, v.Digit || r.Digit != nil, v.Scale || r.Scale > 0
			if r.Calibration != nil {
				v.Calibration = append(v.Calibration, firm(r.Name)+": "+calibrationText(r.Calibration))
			}
		}
		if s := in.Shunt; s != nil {
			v.Facts = append(v.Facts, "Resistance "+firm(written(s.Resistance)))
			if s.TempCo > 0 {
				v.Facts = append(v.Facts, prose(fmt.Sprintf("temperature coefficient up to %.3g ppm/K", s.TempCo*1e6)))
			}
			if s.Heating > 0 {
				v.Facts = append(v.Facts, "warms by up to "+amount(s.Heating, quantity.Kelvin, 2))
			}
			if s.EMF > 0 {
				v.Facts = append(v.Facts, "thermal EMF within ±"+amount(s.EMF, quantity.Volt, 2))
			}
		}
		if in.Calibration != nil {
			v.Calibration = append(v.Calibration, calibrationText(in.Calibration))
		}
		out = append(out, v)
	}
	return out
}

func rangeOf(r *study.Range) rangeView {
	v := rangeView{Name: firm(r.Name), Accuracy: "not recorded"}
	if v.Name == "" {
		v.Name = "only range"
	}
	if r.To != nil {
		v.To = firm(written(*r.To))
	}
	if r.Digit != nil {
		v.Digit = firm(written(*r.Digit))
	}
	if r.Scale > 0 {
		v.Scale = amount(1/r.Scale, quantity.VoltPerAmpere, 3)
	}
	if r.Spec != nil {
		v.Accuracy = prose(r.Spec.String())
	}
	if r.TempCo != nil {
		v.Others = append(v.Others, prose(r.TempCo.String()))
	}
	if r.ZeroDrift > 0 {
		v.Others = append(v.Others, "zero drift up to "+amount(r.ZeroDrift*3600, quantity.Ampere, 2)+" an hour")
	}
	if r.Position > 0 {
		v.Others = append(v.Others, "place of the wire in the jaw: ±"+firm(quantity.FormatPercent(r.Position, 2)))
	}
	return v
}

func calibrationText(c *study.Calibration) string {
	text := "correction factor " + firm(written(c.Factor))
	if !c.On.IsZero() {
		text += ", calibrated on " + day(c.On)
	}
	if c.By != "" {
		text += " by " + c.By
	}
	if !c.Due.IsZero() {
		text += ", due again on " + day(c.Due)
	}
	if c.Drift > 0 {
		text += ", may have drifted by ±" + firm(quantity.FormatPercent(c.Drift, 2)) + " since"
	}
	return text
}
