package quantity

import "strings"

// String writes the entry so that Parse reads the same entry back from it, whatever the unit of
// bare numbers: same kind, values, tolerance and step. Tolerances are written as half widths
// with the unit, repeats with commas.
func (e Entry) String() string {
	if len(e.Values) == 0 {
		return ""
	}
	w, place, stepped := choose(e.Unit, e.Step, e.Values)
	ds := make([]decimal, len(e.Values))
	for i, v := range e.Values {
		ds[i] = w.write(v)
		if stepped {
			ds[i] = ds[i].padded(place)
		}
	}
	if !stepped {
		place = 0
	}
	symbol, exp := w.symbolFor(e.Unit, place, ds...)
	texts := make([]string, len(ds))
	for i, d := range ds {
		if texts[i] = d.shift(-exp).exact(); !stepped {
			texts[i] = d.shift(-exp).String()
		}
	}
	sep := ", "
	if e.Kind == Band {
		sep = ".."
	}
	text := strings.Join(texts, sep)
	if e.Tol == nil {
		return withSymbol(text, symbol)
	}
	plus, minus := w.width(e.Tol.Plus).shift(-exp).String(), w.width(e.Tol.Minus).shift(-exp).String()
	if plus == minus {
		text = withSymbol(text+" ± "+plus, symbol)
	} else {
		text = withSymbol(text, symbol) + " " + withSymbol("+"+plus+"/-"+minus, symbol)
	}
	return text + coverageText(e.Tol.K, e.Tol.Level, e.Tol.DOF)
}

// coverageText writes what a ± stands for, with a space before it; "" where nothing was said.
func coverageText(k, level, dof float64) string {
	var parts []string
	if k > 0 {
		parts = append(parts, "k="+significant(k, 0).String())
	}
	if level > 0 {
		parts = append(parts, significant(level, 0).shift(2).String()+" %")
	}
	if dof > 0 {
		parts = append(parts, significant(dof, 0).String()+" dof")
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}
