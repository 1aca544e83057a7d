package report

import (
	"strings"

	"railtally/internal/phrase"
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
			ID: a.anchors.part("instrument", in.Name), Name: in.Name, Kind: word(a.tongue, in.Kind), Ident: in.Ident, Note: a.prose(in.Note),
		}
		for _, r := range in.Ranges {
			v.Ranges = append(v.Ranges, a.rangeOf(r))
			v.To, v.Digit, v.Scale = v.To || r.To != nil, v.Digit || r.Digit != nil, v.Scale || r.Scale > 0
			if r.Calibration != nil {
				v.Calibration = append(v.Calibration, name(r.Name)+": "+a.calibrationText(r.Calibration))
			}
		}
		if s := in.Shunt; s != nil {
			v.Facts = append(v.Facts, a.say("Resistance %s", a.firm(written(s.Resistance))))
			if s.TempCo > 0 {
				v.Facts = append(v.Facts, a.say("temperature coefficient up to %.3g ppm/K", s.TempCo*1e6))
			}
			if s.Heating > 0 {
				v.Facts = append(v.Facts, a.say("warms by up to %s", a.amount(s.Heating, quantity.Kelvin, 2)))
			}
			if s.EMF > 0 {
				v.Facts = append(v.Facts, a.say("thermal EMF within ±%s", a.amount(s.EMF, quantity.Volt, 2)))
			}
		}
		if in.Calibration != nil {
			v.Calibration = append(v.Calibration, a.calibrationText(in.Calibration))
		}
		out = append(out, v)
	}
	return out
}

func (t tongue) rangeOf(r *study.Range) rangeView {
	v := rangeView{Name: name(r.Name), Accuracy: t.say("not recorded")}
	if v.Name == "" {
		v.Name = t.say("only range")
	}
	if r.To != nil {
		v.To = t.firm(written(*r.To))
	}
	if r.Digit != nil {
		v.Digit = t.firm(written(*r.Digit))
	}
	if r.Scale > 0 {
		v.Scale = t.amount(1/r.Scale, quantity.VoltPerAmpere, 3)
	}
	if r.Spec != nil {
		v.Accuracy = t.specText(r.Spec.String())
	}
	if r.TempCo != nil {
		v.Others = append(v.Others, t.specText(r.TempCo.String()))
	}
	if r.ZeroDrift > 0 {
		v.Others = append(v.Others, t.say("zero drift up to %s an hour", t.amount(r.ZeroDrift*3600, quantity.Ampere, 2)))
	}
	if r.Position > 0 {
		v.Others = append(v.Others, t.say("place of the wire in the jaw: ±%s", t.percentage(r.Position, 2)))
	}
	return v
}

func (t tongue) calibrationText(c *study.Calibration) string {
	text := t.say("correction factor %s", t.firm(written(c.Factor)))
	if !c.On.IsZero() {
		text += ", " + t.say("calibrated on %s", c.On)
	}
	if c.By != "" {
		text += " " + t.say("by %s", c.By)
	}
	if !c.Due.IsZero() {
		text += ", " + t.say("due again on %s", c.Due)
	}
	if c.Drift > 0 {
		text += ", " + t.say("may have drifted by ±%s since", t.percentage(c.Drift, 2))
	}
	return text
}

// specText sets an accuracy line as package quantity prints it: its numbers
// and its own few words.
func (t tongue) specText(s string) string {
	for _, w := range []phrase.Phrase{
		phrase.New("of reading"), phrase.New("of range"), phrase.New("digits"), phrase.New("digit"),
		phrase.New("after zero"), phrase.New("per K from"), phrase.New("per K outside"),
	} {
		s = strings.ReplaceAll(s, w.String(), t.Say(w))
	}
	return t.prose(t.Number(s))
}
