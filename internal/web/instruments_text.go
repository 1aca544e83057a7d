package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/goccy/go-yaml"

	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// An instrument's form is read by the reader of study files, so that a field
// means at the screen what it means in a file and is explained in the same
// words: the fields are put together to the smallest study that holds the
// instrument, and each fault goes back to the field that it is about.

const (
	textBefore = "study: shelf\ninstruments:\n"
	textAfter  = "boards: {bench: {rails: {rail: {nominal: 1 V, not opened: 0..1 A}}}}\n"
)

// readInstrumentForm returns the instrument that a form describes, or nil; the
// faults are then noted in the form, and general is what belongs to no field.
func readInstrumentForm(f *form) (in *study.Instrument, general string) {
	name := f.Text("name", true)
	if f.Raw("kind") == "" {
		f.Fault("kind", "this is needed", "clamp, meter, shunt, thermometer")
	}
	ranges := usedRanges(f)
	if !f.OK() {
		return nil, ""
	}
	t := instrumentText{form: f, name: name, ranges: ranges}
	x, _, err := studyfile.Read("instrument", []byte(textBefore+t.write()+textAfter))
	if err == nil {
		return x.Instruments[0], ""
	}
	var faults *studyfile.Faults
	if !errors.As(err, &faults) {
		return nil, err.Error()
	}
	var rest []string
	for _, x := range faults.List {
		if field := t.fieldOf(x.Field); field != "" {
			f.Fault(field, x.Message, x.Accept)
			continue
		}
		text := x.Message
		if x.Accept != "" {
			text += " (accepted: " + x.Accept + ")"
		}
		rest = append(rest, text)
	}
	return nil, strings.Join(rest, "; ")
}

// usedRanges lists the ranges that have anything in them. Where there are
// several each needs a name of its own.
func usedRanges(f *form) []int {
	var out []int
	seen := map[string]bool{}
	for n := range rangesIn(f) {
		for _, x := range rangeFieldsOf(n) {
			if strings.TrimSpace(f.Raw(x.Name)) != "" {
				out = append(out, n)
				break
			}
		}
	}
	for _, n := range out {
		key := fmt.Sprintf("r%d.name", n)
		name := f.Text(key, false)
		switch {
		case name == "" && len(out) > 1:
			f.Fault(key, "several ranges need a name each", "low, 500 mV")
		case seen[name]:
			f.Fault(key, "another range has this name", "another name")
		}
		seen[name] = true
	}
	return out
}

// instrumentText writes a form as the section of a study file.
type instrumentText struct {
	form   *form
	name   string
	ranges []int
	b      strings.Builder
}

func (t *instrumentText) write() string {
	t.line(1, t.name, "")
	for _, key := range []string{"kind", "ident", "note"} {
		t.put(2, key, key)
	}
	for _, x := range shuntFields() {
		t.put(2, keyOf(x.Name), x.Name)
	}
	flat := len(t.ranges) == 1 && t.rangeName(t.ranges[0]) == ""
	if len(t.ranges) > 0 && !flat {
		t.line(2, "ranges", "")
	}
	for _, n := range t.ranges {
		depth := 2
		if !flat {
			t.line(3, t.rangeName(n), "")
			depth = 4
		}
		for _, x := range rangeFieldsOf(n) {
			if _, key, _ := rangeField(x.Name); key != "name" {
				t.put(depth, keyOf(key), x.Name)
			}
		}
	}
	begun := false
	for _, x := range calibrationFields() {
		if strings.TrimSpace(t.form.Raw(x.Name)) == "" {
			continue
		}
		if !begun {
			t.line(2, "calibrated", "")
			begun = true
		}
		t.put(3, keyOf(strings.TrimPrefix(x.Name, "calibrated.")), x.Name)
	}
	return t.b.String()
}

func (t *instrumentText) rangeName(n int) string {
	return t.form.Text(fmt.Sprintf("r%d.name", n), false)
}

// put writes a field that is not empty.
func (t *instrumentText) put(depth int, key, name string) {
	if text := t.form.Text(name, false); text != "" {
		t.line(depth, key, quoted(text))
	}
}

func (t *instrumentText) line(depth int, key, value string) {
	t.b.WriteString(strings.Repeat("  ", depth) + quoted(key) + ":")
	if value != "" {
		t.b.WriteString(" " + value)
	}
	t.b.WriteByte('\n')
}

// quoted writes a text as JSON does, which YAML reads as the same text.
func quoted(text string) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	// A string can always be encoded.
	_ = e.Encode(text)
	return strings.TrimSpace(b.String())
}

// keyOf is the study file's key of a field.
func keyOf(name string) string { return strings.ReplaceAll(name, "-", " ") }

// fieldOf finds the field that a fault is about, "" when it is about none.
func (t *instrumentText) fieldOf(place string) string {
	const sep = " › "
	rest, ok := strings.CutPrefix(place, "instruments"+sep+t.name)
	if !ok {
		return ""
	}
	rest = strings.TrimPrefix(rest, sep)
	if rest == "" {
		return "name"
	}
	if inside, ok := strings.CutPrefix(rest, "ranges"+sep); ok {
		for _, n := range t.ranges {
			name := t.rangeName(n)
			if inside == name {
				return fmt.Sprintf("r%d.to", n)
			}
			if key, ok := strings.CutPrefix(inside, name+sep); ok {
				return fmt.Sprintf("r%d.%s", n, strings.ReplaceAll(key, " ", "-"))
			}
		}
		return ""
	}
	name := strings.ReplaceAll(strings.ReplaceAll(rest, sep, "."), " ", "-")
	for _, x := range allFields(t.form) {
		if x.Name == name {
			return name
		}
	}
	if len(t.ranges) == 1 {
		return fmt.Sprintf("r%d.%s", t.ranges[0], name)
	}
	return ""
}

// instrumentValues is an instrument as its form shows it: the texts of the study
// file.
func instrumentValues(in *study.Instrument) (url.Values, error) {
	var b bytes.Buffer
	err := studyfile.Write(&b, &study.Study{Question: "shelf", Level: study.DefaultLevel, Instruments: []*study.Instrument{in}})
	if err != nil {
		return nil, err
	}
	var doc struct {
		Instruments yaml.MapSlice `yaml:"instruments"`
	}
	if err := yaml.UnmarshalWithOptions(b.Bytes(), &doc, yaml.UseOrderedMap()); err != nil {
		return nil, err
	}
	v := url.Values{"name": {in.Name}}
	if len(doc.Instruments) != 1 {
		return v, nil
	}
	of, _ := doc.Instruments[0].Value.(yaml.MapSlice)
	for _, item := range of {
		key := fmt.Sprint(item.Key)
		inside, isMap := item.Value.(yaml.MapSlice)
		switch {
		case key == "ranges" && isMap:
			for n, rg := range inside {
				v.Set(fmt.Sprintf("r%d.name", n), fmt.Sprint(rg.Key))
				fields, _ := rg.Value.(yaml.MapSlice)
				for _, x := range fields {
					v.Set(fmt.Sprintf("r%d.%s", n, nameOf(x.Key)), fmt.Sprint(x.Value))
				}
			}
		case isMap:
			for _, x := range inside {
				v.Set(nameOf(key)+"."+nameOf(x.Key), fmt.Sprint(x.Value))
			}
		case isRangeKey(nameOf(key)):
			v.Set("r0."+nameOf(key), fmt.Sprint(item.Value))
		default:
			v.Set(nameOf(key), fmt.Sprint(item.Value))
		}
	}
	return v, nil
}

func nameOf(key any) string { return strings.ReplaceAll(fmt.Sprint(key), " ", "-") }

func isRangeKey(name string) bool {
	for _, x := range rangeFieldsOf(0) {
		if x.Name == "r0."+name {
			return true
		}
	}
	return false
}
