package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

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
			if key, ok := strings.CutSuffix(x.Message, `" is missing`); ok && strings.HasSuffix(field, "calibrated") {
				field += "." + strings.ReplaceAll(strings.TrimPrefix(key, `"`), " ", "-")
			}
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
		if len(out) == 1 && name == "" {
			for _, x := range calibrationFields() {
				if own := fmt.Sprintf("r%d.%s", n, x.Name); strings.TrimSpace(f.Raw(own)) != "" {
					f.Fault(own, "an only range without a name has the calibration of the instrument", "the same below, or a name for the range")
				}
			}
		}
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
	for _, x := range slices.Concat(generalFields(), shuntFields(), otherFields(t.form)) {
		if x.Name != "name" {
			t.put(2, keyOf(strings.TrimPrefix(x.Name, otherHead)), x.Name)
		}
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
			if _, key, _ := rangeField(x.Name); key != "name" && !x.Apart {
				t.put(depth, keyOf(key), x.Name)
			}
		}
		if !flat {
			t.calibration(depth, fmt.Sprintf("r%d.", n))
		}
	}
	t.calibration(2, "")
	return t.b.String()
}

// calibration writes what stands in the fields of a calibration whose names
// begin so.
func (t *instrumentText) calibration(depth int, begin string) {
	begun := false
	for _, x := range calibrationFields() {
		if strings.TrimSpace(t.form.Raw(begin+x.Name)) == "" {
			continue
		}
		if !begun {
			t.line(depth, "calibrated", "")
			begun = true
		}
		t.put(depth+1, keyOf(strings.TrimPrefix(x.Name, "calibrated.")), begin+x.Name)
	}
}

func (t *instrumentText) rangeName(n int) string {
	return t.form.Text(fmt.Sprintf("r%d.name", n), false)
}

// put writes a field that is not empty. Browsers end lines in two signs.
func (t *instrumentText) put(depth int, key, name string) {
	if text := strings.TrimSpace(strings.ReplaceAll(t.form.Raw(name), "\r\n", "\n")); text != "" {
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
				return fmt.Sprintf("r%d.%s", n, strings.ReplaceAll(strings.ReplaceAll(key, sep, "."), " ", "-"))
			}
		}
		return ""
	}
	name := strings.ReplaceAll(strings.ReplaceAll(rest, sep, "."), " ", "-")
	if name == "calibrated" {
		return name
	}
	for _, x := range allFields(t.form) {
		if x.Name == name || x.Name == otherHead+name {
			return x.Name
		}
	}
	if len(t.ranges) == 1 && isRangeKey(name) {
		return fmt.Sprintf("r%d.%s", t.ranges[0], name)
	}
	return ""
}
