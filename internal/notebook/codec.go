package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// The forms in which plans and instruments are kept.
const (
	formYAML  = "yaml"
	formDraft = "draft"
)

func formOf(draft bool) string {
	if draft {
		return formDraft
	}
	return formYAML
}

// encodePlan writes a plan: as the canonical YAML of a study without sittings
// where that reads back as the same, else, while the plan is not sound yet, as a
// draft. What it returns reads back as the same, or it fails.
func encodePlan(s *study.Study) (text string, draft bool, err error) {
	plan := *s
	plan.Sittings = nil
	if text, err := yamlOf(&plan); err == nil {
		if back, _, err := studyfile.Read("plan", []byte(text)); err == nil {
			if alike(&plan, back) {
				return text, false, nil
			}
		}
	}
	text, err = encodeDraft(&plan)
	return text, true, err
}

func decodePlan(text string, draft bool) (*study.Study, error) {
	if draft {
		s := &study.Study{}
		return s, decodeDraft(text, s)
	}
	s, _, err := studyfile.Read("plan", []byte(text))
	if err != nil {
		return nil, fmt.Errorf("%w", err)
	}
	return s, nil
}

func yamlOf(s *study.Study) (string, error) {
	var b bytes.Buffer
	err := studyfile.Write(&b, s)
	return b.String(), err
}

// An instrument is kept as the section of a study file that describes it. To
// read it, the section is put into the smallest sound study there is.
const (
	shelfHead = "study: shelf\n\n"
	shelfTail = "\nboards: {bench: {rails: {rail: {nominal: 1 V, not opened: 0..1 A}}}}\n"
)

func encodeInstrument(in *study.Instrument) (text string, draft bool, err error) {
	whole, err := yamlOf(&study.Study{Question: "shelf", Level: study.DefaultLevel, Instruments: []*study.Instrument{in}})
	if section, ok := strings.CutPrefix(whole, shelfHead); ok && err == nil {
		if back, err := decodeInstrument(section, false); err == nil {
			if alike(in, back) {
				return section, false, nil
			}
		}
	}
	text, err = encodeDraft(in)
	return text, true, err
}

func decodeInstrument(text string, draft bool) (*study.Instrument, error) {
	if draft {
		in := &study.Instrument{}
		return in, decodeDraft(text, in)
	}
	s, _, err := studyfile.Read("instrument", []byte(shelfHead+text+shelfTail))
	if err != nil {
		return nil, fmt.Errorf("%w", err)
	}
	if len(s.Instruments) != 1 {
		return nil, fmt.Errorf("%d instruments in one", len(s.Instruments))
	}
	return s.Instruments[0], nil
}

// draftForm is how something that is not sound yet is kept: as the JSON of its
// Go value. Units are numbers there; Units says what they stood for when it was
// written, so that a later program may count them otherwise.
type draftForm struct {
	Units []string        `json:"units"`
	Value json.RawMessage `json:"value"`
}

func unitNames() (out []string) {
	for u := quantity.None; u == quantity.None || u.Symbol() != ""; u++ {
		out = append(out, u.Symbol())
	}
	return out
}

func encodeDraft(v any) (string, error) {
	value, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("write the draft: %w", err)
	}
	back := reflect.New(reflect.TypeOf(v).Elem())
	if err := json.Unmarshal(value, back.Interface()); err != nil {
		return "", fmt.Errorf("write the draft: %w", err)
	}
	// Compared as JSON, because times that are equal may differ in memory.
	again, err := json.Marshal(back.Interface())
	if err != nil || !bytes.Equal(again, value) {
		return "", fmt.Errorf("write the draft: it does not read back as the same")
	}
	out, err := json.Marshal(draftForm{Units: unitNames(), Value: value})
	return string(out), err
}

func decodeDraft(text string, to any) error {
	var d draftForm
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		return fmt.Errorf("read the draft: %w", err)
	}
	if err := json.Unmarshal(d.Value, to); err != nil {
		return fmt.Errorf("read the draft: %w", err)
	}
	now := make(map[string]quantity.Unit)
	for i, name := range unitNames() {
		now[name] = quantity.Unit(i)
	}
	return recount(reflect.ValueOf(to), d.Units, now)
}

// recount turns the numbers of units as they were into those of today.
func recount(v reflect.Value, then []string, now map[string]quantity.Unit) error {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			return recount(v.Elem(), then, now)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if err := recount(v.Index(i), then, now); err != nil {
				return err
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() {
				if err := recount(f, then, now); err != nil {
					return err
				}
			}
		}
	case reflect.Uint8:
		if v.Type() != reflect.TypeFor[quantity.Unit]() {
			return nil
		}
		old := int(v.Uint())
		if old >= len(then) {
			return fmt.Errorf("read the draft: unit %d is not known", old)
		}
		u, ok := now[then[old]]
		if !ok {
			return fmt.Errorf("read the draft: the unit %q is not known", then[old])
		}
		v.SetUint(uint64(u))
	}
	return nil
}
