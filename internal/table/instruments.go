package table

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// instruments has one row for each range of each instrument; a shunt has one.
func instruments(t *tally.Tally) *Table {
	out := &Table{Name: "instruments", Title: "What was read with", Columns: []Column{
		{Key: "instrument", Title: "instrument"}, {Key: "kind", Title: "kind"}, {Key: "ident", Title: "identity"}, {Key: "range", Title: "range"},
		{Key: "scale", Title: "amperes per volt", Kind: Number, Unit: quantity.AmperePerVolt},
		{Key: "measures", Title: "shows"}, {Key: "to", Title: "to"}, {Key: "digit", Title: "digit"}, {Key: "spec", Title: "accuracy"},
		{Key: "temperature_coefficient", Title: "temperature"},
		{Key: "zero_drift", Title: "zero drift", Kind: Number, Unit: quantity.AmperePerSecond},
		{Key: "position", Title: "place in the jaw, ±", Kind: Number}, {Key: "resistance", Title: "resistance"},
		{Key: "calibrated", Title: "calibrated"}, {Key: "due", Title: "due again"}, {Key: "correction_factor", Title: "correction factor"},
		{Key: "calibrated_by", Title: "by"}, {Key: "note", Title: "note"},
	}}
	for _, in := range t.Study.Instruments {
		if len(in.Ranges) == 0 {
			out.instrument(in, &study.Range{})
		}
		for _, r := range in.Ranges {
			out.instrument(in, r)
		}
	}
	return out
}

func (t *Table) instrument(in *study.Instrument, r *study.Range) {
	scale, drift, position := nothing(), nothing(), nothing()
	if r.Scale > 0 {
		scale = number(r.Scale)
	}
	if r.ZeroDrift > 0 {
		drift = number(r.ZeroDrift)
	}
	if r.Position > 0 {
		position = number(r.Position)
	}
	var shows, spec, tempco, ohms string
	if len(in.Ranges) > 0 {
		shows = r.Measures.Symbol()
	}
	if r.Spec != nil {
		spec = r.Spec.String()
	}
	if r.TempCo != nil {
		tempco = r.TempCo.String()
	}
	if in.Shunt != nil {
		ohms = written(in.Shunt.Resistance)
	}
	var on, due, factor, by string
	if c := in.CalibrationOf(r); c != nil {
		on, due, factor, by = day(c.On), day(c.Due), written(c.Factor), c.By
	}
	t.add(text(in.Name), text(string(in.Kind)), text(in.Ident), text(r.Name), scale, text(shows), optional(r.To), optional(r.Digit), text(spec),
		text(tempco), drift, position, text(ohms), text(on), text(due), text(factor), text(by), text(in.Note))
}

// optional is a quantity that may not be said.
func optional(e *quantity.Entry) Cell {
	if e == nil {
		return nothing()
	}
	return text(written(*e))
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02")
}
