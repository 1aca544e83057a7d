package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"railtally/internal/quantity"
)

// form is what was sent, with what is wrong with each field. A form that is
// shown again holds everything as it was typed.
type form struct {
	values url.Values
	faults map[string]fieldFault
	order  []string
}

// fieldFault is shown beside its field.
type fieldFault struct{ Message, Accept string }

// readForm reads the body of a request.
func readForm(r *http.Request) (*form, error) {
	if err := r.ParseForm(); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return nil, err
		}
		return nil, badRequest("the form cannot be read", "Load the page again and send it once more.")
	}
	return newForm(r.PostForm), nil
}

// newForm makes a form of values, such as those of what is to be edited.
func newForm(values url.Values) *form {
	if values == nil {
		values = url.Values{}
	}
	return &form{values: values, faults: map[string]fieldFault{}}
}

// Raw is a field exactly as it was typed.
func (f *form) Raw(name string) string { return f.values.Get(name) }

// Text is a field with single spaces and none at its ends, and required if so.
func (f *form) Text(name string, required bool) string {
	text := strings.Join(strings.Fields(f.values.Get(name)), " ")
	if text == "" && required {
		f.Fault(name, "this is needed", "")
	}
	return text
}

// Checked tells that a box was ticked.
func (f *form) Checked(name string) bool { return f.values.Get(name) != "" }

// Quantity understands a field as a quantity; figures without a unit are in
// bare. It returns nil for an empty field, and for a wrong one, whose fault is
// noted.
func (f *form) Quantity(name string, unit quantity.Unit, bare string) *quantity.Entry {
	text := strings.TrimSpace(f.values.Get(name))
	if text == "" {
		return nil
	}
	e, err := quantity.Parse(text, unit, bare)
	if unit == quantity.None && bare == "%" {
		// 0.85 is a ratio, 85 are percent; no figure asked for here is beyond 100 %.
		if ratio, wrong := quantity.Parse(text, unit, ""); wrong == nil && len(ratio.Values) > 0 && slices.Max(ratio.Values) <= 1 {
			e, err = ratio, nil
		}
	}
	if err != nil {
		f.Wrong(name, err)
		return nil
	}
	return &e
}

// Fault notes what is wrong with a field, the first time.
func (f *form) Fault(name, message, accept string) {
	if _, known := f.faults[name]; known {
		return
	}
	f.faults[name] = fieldFault{message, accept}
	f.order = append(f.order, name)
}

// Wrong notes an error as the fault of a field; a quantity's own says what
// would be accepted.
func (f *form) Wrong(name string, err error) {
	var q *quantity.Error
	if errors.As(err, &q) {
		f.Fault(name, q.Msg, q.Accept)
		return
	}
	f.Fault(name, err.Error(), "")
}

// OK tells that nothing is wrong so far.
func (f *form) OK() bool { return len(f.faults) == 0 }

// fault returns what is wrong with a field, or nil.
func (f *form) fault(name string) *fieldFault {
	if x, ok := f.faults[name]; ok {
		return &x
	}
	return nil
}

// field is one labelled field as the template "field" sets it.
type field struct {
	Name, Label, Hint string
	Value             string
	Kind              string // "text", "date", "area", "select", "check"; empty: text
	Options           []option
	Rows              int
	Mode              string // inputmode: "decimal" for figures
	Check             string // address that checks the field as it is left; empty: none
	Wide              bool
	Required          bool
	Autofocus         bool
	Kinds             string // kinds of instrument that have it; empty: all
	Apart             bool   // stands apart from the fields that are always shown
	Fault             *fieldFault
}

type option struct {
	Value, Label string
	Chosen       bool
}

// ID is the field's identifier on the page.
func (f field) ID() string { return "f-" + strings.ReplaceAll(f.Name, ".", "-") }

// fill takes value and fault of a field from a form.
func (f *form) fill(x field) field {
	x.Value, x.Fault = f.Raw(x.Name), f.fault(x.Name)
	for i := range x.Options {
		x.Options[i].Chosen = x.Options[i].Value == x.Value
	}
	return x
}
