package study

// Factor is something that is set differently in different states: how many
// devices are attached, which load runs, how fast a link is.
type Factor struct {
	Name   string
	Levels []string // in the order in which they are shown; never empty
	Note   string
}

// Interaction names factors that may act together: what they add in common
// beyond what each adds alone is then estimated too.
type Interaction struct {
	Of []OfFactor // two or more
}

// OfFactor points to a factor by its name.
type OfFactor struct{ Factor string }

// Factors are the names of the factors that act together.
func (x *Interaction) Factors() []string {
	out := make([]string, len(x.Of))
	for i, f := range x.Of {
		out[i] = f.Factor
	}
	return out
}

// State is one operating condition of the board.
type State struct {
	Name   string
	Levels []Level // one for each factor, in the order of the study's factors
	Note   string
}

// Level is the setting of one factor.
type Level struct {
	Factor, Value string
}

// Level returns the state's level of a factor, or "".
func (s *State) Level(factor string) string {
	for _, l := range s.Levels {
		if l.Factor == factor {
			return l.Value
		}
	}
	return ""
}

// DiffersIn returns the factors whose levels differ between two states.
func (s *State) DiffersIn(o *State) []string {
	var out []string
	for _, l := range s.Levels {
		if o.Level(l.Factor) != l.Value {
			out = append(out, l.Factor)
		}
	}
	return out
}
