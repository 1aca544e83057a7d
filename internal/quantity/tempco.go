package quantity

import "errors"

const tempCoForms = "±(0.05 % + 0.1 mV) per K outside 18..28 °C, ±0.05 %/K from 23 °C"

// TempCo is what a specification adds for each kelvin that the air is outside a window of
// temperature.
type TempCo struct {
	Spec   Spec    // per kelvin
	Lo, Hi float64 // the window in °C, Lo <= Hi; both the same where it counts from one temperature
}

// ParseTempCo reads a temperature coefficient with its window. The window may be written as a
// band, as 23 ± 5 °C, or as one temperature with "from". The error is an *Error.
func ParseTempCo(text string, want Unit) (TempCo, error) {
	s, err := newScanner(text, maxLine, tempCoForms)
	if err != nil {
		return TempCo{}, err
	}
	p := &specParser{scanner: s, spec: Spec{Unit: want}}
	if err := p.body(); err != nil {
		return TempCo{}, err
	}
	p.space()
	if _, ok := p.lit("/"); !ok {
		if _, ok := p.word("per"); !ok {
			return TempCo{}, p.fail(p.pos, tempCoForms, "per K is missing")
		}
	}
	p.space()
	at := p.pos
	m, err := p.measure(Kelvin, false)
	if err != nil {
		return TempCo{}, err
	}
	if m == nil || difference(m.unit) != Kelvin || m.scale.Cmp(power10(0)) != 0 {
		return TempCo{}, p.fail(at, tempCoForms, "K or °C is wanted after per")
	}
	p.space()
	p.lit(",")
	p.space()
	at = p.pos
	if _, ok := p.word("outside of", "outside", "beyond"); ok {
		return p.window(false)
	}
	if _, ok := p.word("from", "away from", "about", "around"); ok {
		return p.window(true)
	}
	return TempCo{}, p.fail(at, tempCoForms, "the window of temperature is missing")
}

// window reads the rest of the text as a temperature, a band or one with a tolerance.
func (p *specParser) window(one bool) (TempCo, error) {
	from := p.pos
	e, err := Parse(p.rest(), Celsius, "°C")
	if err != nil {
		var at *Error
		if errors.As(err, &at) {
			return TempCo{}, p.fail(from+at.Offset, tempCoForms, "%s", at.Msg)
		}
		return TempCo{}, err
	}
	t := TempCo{Spec: p.spec, Lo: e.Values[0], Hi: e.Values[len(e.Values)-1]}
	switch {
	case e.Kind == Repeats, one != (e.Kind == Single && e.Tol == nil), e.Tol != nil && !e.Tol.Limits():
		return TempCo{}, p.fail(from, tempCoForms, "the window is outside a band, or from one temperature")
	case e.Tol != nil:
		t.Lo, t.Hi = t.Lo-e.Tol.Minus, t.Hi+e.Tol.Plus
	}
	return t, nil
}

// String writes the coefficient so that ParseTempCo reads the same from it.
func (t TempCo) String() string {
	text := "±" + t.Spec.sum() + " per K "
	lo, hi := significant(t.Lo, 0).String(), significant(t.Hi, 0).String()
	if t.Lo == t.Hi {
		return text + "from " + lo + " °C"
	}
	return text + "outside " + lo + ".." + hi + " °C"
}
