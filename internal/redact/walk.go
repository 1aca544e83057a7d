package redact

import (
	"fmt"
	"reflect"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// own are the fields that hold what is left out, by type and name: there a word
// is replaced however short it is, and nobody need be told.
var own = map[reflect.Type]string{
	reflect.TypeFor[study.Sitting]():     "By",
	reflect.TypeFor[study.Tick]():        "By",
	reflect.TypeFor[study.Calibration](): "By",
	reflect.TypeFor[study.Instrument]():  "Ident",
}

// opaque are types whose texts are no words: quantities are what was read, and
// must stay.
var opaque = map[reflect.Type]bool{
	reflect.TypeFor[quantity.Entry](): true, reflect.TypeFor[quantity.Spec](): true, reflect.TypeFor[quantity.TempCo](): true,
	reflect.TypeFor[quantity.Wire](): true, reflect.TypeFor[time.Time](): true,
}

// walk replaces the words in every text of the study. Names and what refers to
// them are the same texts, so they stay together.
func (r *Result) walk() { r.visit(reflect.ValueOf(r.Study), "study") }

func (r *Result) visit(v reflect.Value, at string) {
	switch {
	case opaque[v.Type()]:
		return
	case v.Type() == reflect.TypeFor[string]():
		r.replace(v, at, false)
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			r.visit(v.Elem(), at)
		}
	case reflect.Slice:
		for i := range v.Len() {
			r.visit(v.Index(i), at+" › "+nameOf(v.Index(i), i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			switch {
			case !f.IsExported():
			case f.Name == "Note" && r.notes:
				v.Field(i).SetString("")
			case own[v.Type()] == f.Name:
				r.replace(v.Field(i), at, true)
			default:
				r.visit(v.Field(i), at+" › "+strings.ToLower(f.Name))
			}
		}
	}
}

// nameOf is what an item of a list is called, or its number.
func nameOf(v reflect.Value, i int) string {
	for v.Kind() == reflect.Pointer && !v.IsNil() {
		v = v.Elem()
	}
	if v.Kind() == reflect.Struct {
		if n := v.FieldByName("Name"); n.IsValid() && n.Kind() == reflect.String && n.String() != "" {
			return n.String()
		}
	}
	return fmt.Sprint(i + 1)
}

// replace leaves the words out of one text; own: it is the field that they
// belong to.
func (r *Result) replace(v reflect.Value, at string, own bool) {
	before := v.String()
	s := before
	for _, w := range r.words {
		if !own && !w.long() {
			continue
		}
		after := w.in(s)
		if after != s && !own {
			r.Told = append(r.Told, fmt.Sprintf("“%s” stood in %s; there it says “%s” now", w.word, at, w.alias))
		}
		s = after
	}
	if s != before {
		v.SetString(s)
	}
}
