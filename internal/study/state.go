package study

import "railtally/internal/quantity"

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
	// Cycle is how what runs in the state comes and goes; nil: not said.
	Cycle *Cycle
	Note  string
}

// Cycle is a load that repeats itself. A reading that averages over less than
// whole periods of it is off by what the unfinished period makes of it.
type Cycle struct {
	Period quantity.Entry // seconds; with a tolerance, or a band, where it is not known exactly
	Swings []Swing        // of the rails of which it is known
}

// Swing is between which currents, in amperes, a rail goes while the load
// repeats.
type Swing struct {
	Rail string
	Amps quantity.Entry // a band
}

// Swing is that of a rail, or nil.
func (c *Cycle) Swing(rail string) *quantity.Entry {
	for i := range c.Swings {
		if c.Swings[i].Rail == rail {
			return &c.Swings[i].Amps
		}
	}
	return nil
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

// Seconds are the limits of the period.
func (c *Cycle) Seconds() (lo, hi float64) {
	e := c.Period
	switch {
	case e.Kind == quantity.Band:
		return e.Values[0], e.Values[1]
	case e.Tol != nil:
		return e.Value() - e.Tol.Minus, e.Value() + e.Tol.Plus
	}
	return e.Value(), e.Value()
}
