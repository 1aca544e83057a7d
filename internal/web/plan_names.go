package web

import (
	"reflect"
	"slices"

	"railtally/internal/study"
)

// names are new names by the old ones; a name that is not in a map stays. Rails
// belong to the board of the old name.
type names struct {
	boards, states, factors map[string]string
	board                   string // whose rails are renamed
	rails                   map[string]string
}

// renamed lets what a plan says beside its boards and states follow new names:
// comparisons, claims, aims, expected currents and what else names a board. It
// goes by the names of the fields, Board, State, Factor and Rail, so that nothing
// is left behind that a later plan holds.
func renamed(p *study.Study, n names) {
	to := func(m map[string]string, v reflect.Value) {
		if name, ok := m[v.String()]; ok {
			v.SetString(name)
		}
	}
	eachMention(p, func(s reflect.Value) {
		board := text(s, "Board")
		if rail := text(s, "Rail"); rail.IsValid() && board.IsValid() && board.String() == n.board {
			to(n.rails, rail)
		}
		for name, m := range map[string]map[string]string{"Board": n.boards, "State": n.states, "Factor": n.factors} {
			if v := text(s, name); v.IsValid() {
				to(m, v)
			}
		}
	})
}

// eachMention visits every struct in what a plan says beside its boards, factors,
// states and instruments.
func eachMention(p *study.Study, visit func(reflect.Value)) {
	v := reflect.ValueOf(p).Elem()
	for i := range v.NumField() {
		switch v.Type().Field(i).Name {
		case "Boards", "Factors", "States", "Instruments", "Sittings":
		default:
			eachStruct(v.Field(i), visit)
		}
	}
}

func eachStruct(v reflect.Value, visit func(reflect.Value)) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			eachStruct(v.Elem(), visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachStruct(v.Index(i), visit)
		}
	case reflect.Struct:
		visit(v)
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				eachStruct(v.Field(i), visit)
			}
		}
	}
}

// text is a field of a struct that holds a name; not valid where there is none.
func text(s reflect.Value, name string) reflect.Value {
	if f := s.FieldByName(name); f.IsValid() && f.Kind() == reflect.String && f.CanSet() {
		return f
	}
	return reflect.Value{}
}

// dropDangling takes out of a plan what is said about boards, rails, states or
// levels that it does not have any more, and returns how much that was.
func dropDangling(p *study.Study) (n int) {
	v := reflect.ValueOf(p).Elem()
	for i := range v.NumField() {
		list := v.Field(i)
		switch v.Type().Field(i).Name {
		case "Boards", "Factors", "States", "Instruments", "Sittings":
			continue
		}
		if list.Kind() != reflect.Slice {
			continue
		}
		kept := reflect.MakeSlice(list.Type(), 0, list.Len())
		for j := range list.Len() {
			if dangles(p, list.Index(j)) {
				n++
			} else {
				kept = reflect.Append(kept, list.Index(j))
			}
		}
		if kept.Len() < list.Len() {
			list.Set(kept)
		}
	}
	return n
}

// dangles tells whether something in a plan names what is not there.
func dangles(p *study.Study, what reflect.Value) (gone bool) {
	eachStruct(what, func(s reflect.Value) {
		name := func(field string) string {
			if v := text(s, field); v.IsValid() {
				return v.String()
			}
			return ""
		}
		board, state, rail, factor := name("Board"), name("State"), name("Rail"), name("Factor")
		b := p.Board(board)
		gone = gone || board != "" && b == nil || state != "" && p.State(state) == nil || rail != "" && b != nil && b.Rail(rail) == nil
		if factor == "" {
			return
		}
		i := slices.IndexFunc(p.Factors, func(f *study.Factor) bool { return f.Name == factor })
		for _, level := range []string{name("Level"), name("From")} {
			gone = gone || i < 0 || level != "" && !slices.Contains(p.Factors[i].Levels, level)
		}
	})
	return gone
}
