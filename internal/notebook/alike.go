package notebook

import (
	"reflect"
	"time"

	"railtally/internal/quantity"
)

// alike tells whether two studies, or two parts of one, say the same. It looks
// at every field there is, so that a field which the text form does not know
// yet cannot get lost in silence. Two things count as the same although they
// differ in memory: a quantity by what it means, not by how it was typed, and a
// list that is empty and one that is not there.
func alike(a, b any) bool { return same(reflect.ValueOf(a), reflect.ValueOf(b)) }

func same(a, b reflect.Value) bool {
	switch a.Type() {
	case reflect.TypeFor[time.Time]():
		return a.Interface().(time.Time).Equal(b.Interface().(time.Time))
	case reflect.TypeFor[quantity.Entry]():
		x, y := a.Interface().(quantity.Entry), b.Interface().(quantity.Entry)
		x.Text, y.Text = "", ""
		return reflect.DeepEqual(x, y)
	}
	switch a.Kind() {
	case reflect.Pointer:
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return same(a.Elem(), b.Elem())
	case reflect.Slice:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !same(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	case reflect.Struct:
		for i := range a.NumField() {
			if !same(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}
