package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/study"
)

// shownInstrument is the form of one instrument.
type shownInstrument struct {
	First, Row int64 // 0: new
	Name       string
	Study      int64 // whose plan gets it too; 0: none
	Question   string
	Problem    string

	General, Other     []field
	Shunt, Calibration []field
	Ranges             []rangeFields
	Why                field
}

// rangeFields are the fields of one range. Those of a calibration that it has
// for itself stand apart, open where there is something in them.
type rangeFields struct {
	Title  string
	Fields []field
	Apart  []field
	Open   bool
}

// The fields of the form are named after the keys of the study file, with "-"
// for spaces; those of a calibration begin with "calibrated.", those of the n-th
// range with "rn.".

func generalFields() []field {
	kinds := []option{{Label: "choose"}}
	for _, k := range study.InstrumentKinds {
		kinds = append(kinds, option{Value: string(k), Label: string(k)})
	}
	return []field{
		{Name: "name", Label: "Name", Required: true, Hint: "As you call it at the bench: red clamp."},
		{Name: "kind", Label: "Kind", Kind: "select", Options: kinds, Required: true, Hint: "A clamp gives a voltage for a current; a shunt is a resistor of known value; a meter shows volts or amperes."},
		{Name: "ident", Label: "Model and serial number"},
		{Name: "note", Label: "Note", Kind: "area", Rows: 2},
		{Name: "jaw", Label: "Room in the jaw", Hint: "12 mm; tells how many turns of a wire fit.", Kinds: "clamp"},
	}
}

func shuntFields() []field {
	return []field{
		{Name: "resistance", Label: "Resistance", Hint: "100 mΩ ±1 %"},
		{Name: "temperature-coefficient", Label: "Temperature coefficient", Hint: "50 ppm/K"},
		{Name: "heating", Label: "Warms by up to", Hint: "5 K, by the current through it"},
		{Name: "thermal-emf", Label: "Thermal EMF within", Hint: "±2 µV, between its leads of other metal"},
	}
}

func calibrationFields() []field {
	return []field{
		{Name: "calibrated.on", Label: "Calibrated on", Kind: "date"},
		{Name: "calibrated.due", Label: "Due again on", Kind: "date"},
		{Name: "calibrated.correction-factor", Label: "Correction factor", Hint: "1.004 ± 0.003 (k=2): what a reading is multiplied by"},
		{Name: "calibrated.drift", Label: "May have drifted since by", Hint: "±0.2 %"},
		{Name: "calibrated.by", Label: "Calibrated by"},
	}
}

func rangeFieldsOf(n int) []field {
	out := []field{
		{Name: "name", Label: "Name of the range", Hint: "As on its switch: low, 500 mV. Empty if there is only one."},
		{Name: "scale", Label: "Scale of the clamp", Hint: "1 mV per 10 mA: what it gives for what flows", Kinds: "clamp"},
		{Name: "digit", Label: "Last digit", Hint: "0.1 mV: the smallest step that the display shows", Kinds: "meter thermometer"},
		{Name: "spec", Label: "Accuracy", Hint: "As in the manual: ±(0.2 % + 2 digits), or ±(1.5 % + 10 mA)"},
		{Name: "to", Label: "Reaches to", Hint: "20 A, or 500 mV. A name such as 500 mV says it already."},
		{Name: "zero-drift", Label: "Zero drifts by", Hint: "5 mA per hour", Kinds: "clamp"},
		{Name: "position", Label: "Error by where the wire lies in the jaw", Hint: "±0.8 %", Kinds: "clamp"},
		{Name: "averages", Label: "Averages one reading over", Hint: "0.4 s; tells what a load that comes and goes makes of a reading", Kinds: "meter"},
		{Name: "temperature", Label: "Extra error when warm or cold", Hint: "±0.05 % per K outside 18..28 °C"},
	}
	for _, x := range calibrationFields() {
		x.Apart = true
		out = append(out, x)
	}
	for i := range out {
		out[i].Name = "r" + strconv.Itoa(n) + "." + out[i].Name
	}
	return out
}

// otherFields are keys of the study file that this form has no field of its own
// for. They are shown as they are, so that nothing gets lost on the way.
func otherFields(f *form) []field {
	var out []field
	for name := range f.values {
		if key, ok := strings.CutPrefix(name, otherHead); ok {
			out = append(out, field{Name: name, Label: keyOf(key)})
		}
	}
	slices.SortFunc(out, func(a, b field) int { return strings.Compare(a.Name, b.Name) })
	return out
}

const otherHead = "other."

// maxRanges is how many ranges a form may have.
const maxRanges = 40

// rangesIn is how many ranges a form shows: those with something in them, and
// one more where it was asked for or there is none.
func rangesIn(f *form) int {
	n := 0
	for name, v := range f.values {
		if i, _, ok := rangeField(name); ok && i < maxRanges && strings.TrimSpace(strings.Join(v, "")) != "" {
			n = max(n, i+1)
		}
	}
	if f.Checked("more") && n < maxRanges || n == 0 {
		n++
	}
	return n
}

// rangeField takes the name of a range's field apart.
func rangeField(name string) (n int, key string, ok bool) {
	rest, ok := strings.CutPrefix(name, "r")
	number, key, dot := strings.Cut(rest, ".")
	n, err := strconv.Atoi(number)
	return n, key, ok && dot && err == nil && n >= 0
}

// allFields is every field that the form shows, filled in.
func allFields(f *form) []field {
	all := append(generalFields(), shuntFields()...)
	all = append(all, calibrationFields()...)
	all = append(all, otherFields(f)...)
	for n := range rangesIn(f) {
		all = append(all, rangeFieldsOf(n)...)
	}
	for i := range all {
		all[i] = f.fill(all[i])
	}
	return all
}

func (s *Server) showInstrument(w http.ResponseWriter, r *http.Request, f *form, v shownInstrument, status int) error {
	filled := func(list []field) []field {
		for i, x := range list {
			if x.Kind == "" && !strings.HasSuffix(x.Name, "calibrated.by") && x.Name != "ident" && x.Name != "note" {
				list[i].Check = "/instruments/check?field=" + url.QueryEscape(x.Name)
			}
			list[i] = f.fill(list[i])
		}
		return list
	}
	v.Other = filled(otherFields(f))
	v.General, v.Shunt, v.Calibration = filled(generalFields()), filled(shuntFields()), filled(calibrationFields())
	for n := range rangesIn(f) {
		x := rangeFields{Title: "Range"}
		for i, y := range filled(rangeFieldsOf(n)) {
			y.Autofocus = i == 0 && f.Checked("more") && n == rangesIn(f)-1
			if y.Apart {
				x.Apart = append(x.Apart, y)
				x.Open = x.Open || y.Value != "" || y.Fault != nil
			} else {
				x.Fields = append(x.Fields, y)
			}
		}
		if n > 0 || rangesIn(f) > 1 {
			x.Title = fmt.Sprintf("Range %d", n+1)
		}
		v.Ranges = append(v.Ranges, x)
	}
	v.Why = f.fill(field{Name: "why", Label: "Why it is changed", Wide: true, Hint: "Stays in the notebook beside the change."})
	title := "New instrument"
	if v.Name != "" {
		title = v.Name
	}
	return s.render(w, r, "instrument", page{Status: status, Title: title, Data: v})
}

func int64Of(text string) int64 {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0
	}
	return n
}
