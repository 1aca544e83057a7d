package study

import (
	"slices"
	"strconv"
	"strings"

	"railtally/internal/quantity"
)

// factors checks the factors and their levels.
func (c *checker) factors() {
	var names []string
	for _, f := range c.study.Factors {
		names = append(names, f.Name)
		p := path{"factors", f.Name}
		c.reserved(p, "factor", f.Name, "note", "repeats every", "swings")
		if len(f.Levels) == 0 {
			c.fault(p, "[none, copy]", "the factor %s has no levels", f.Name)
		}
		c.names(p, "level", f.Levels)
	}
	c.names(path{"factors"}, "factor", names)
}

// mostTogether is how many factors an interaction may have. What more of them
// do together nobody can picture (our own choice).
const mostTogether = 4

// interactions checks that each names factors of the study, once, and that what
// fewer of them do together is estimated as well: without it, the larger
// interaction would take it in and mean nothing by itself.
func (c *checker) interactions() {
	var names []string
	for _, f := range c.study.Factors {
		names = append(names, f.Name)
	}
	listed := map[string]bool{}
	for i, x := range c.study.Interactions {
		p := path{"interactions", strconv.Itoa(i + 1)}
		of := x.Factors()
		if len(of) < 2 || len(of) > mostTogether {
			c.fault(p, "[drives, load]", "an interaction is of two to %d factors, not of %d", mostTogether, len(of))
			continue
		}
		for j, name := range of {
			q := p.with(strconv.Itoa(j + 1))
			switch {
			case !slices.Contains(names, name):
				c.fault(q, Accepting(name, names), "no factor called %q", name)
			case slices.Contains(of[:j], name):
				c.fault(q, "another factor", "%s comes twice", name)
			}
		}
		key := together(of)
		if listed[key] {
			c.fault(p, "each interaction once", "the same factors stand here twice")
		}
		listed[key] = true
	}
	for i, x := range c.study.Interactions {
		of := x.Factors()
		if len(of) > mostTogether {
			continue
		}
		for j := range of {
			part := slices.Delete(slices.Clone(of), j, j+1)
			if len(part) >= 2 && !listed[together(part)] {
				c.fault(path{"interactions", strconv.Itoa(i + 1)}, "["+strings.Join(part, ", ")+"] in the list as well",
					"what %s do together is asked for without what %s do", strings.Join(of, ", "), strings.Join(part, ", "))
			}
		}
	}
}

// together is a key for a set of factors, whatever their order.
func together(factors []string) string {
	sorted := slices.Sorted(slices.Values(factors))
	return strings.Join(sorted, "\x00")
}

// states checks that each state sets every factor once, and that no two states
// are the same.
func (c *checker) states() {
	s := c.study
	var names []string
	alike := make(map[string]string)
	for _, st := range s.States {
		names = append(names, st.Name)
		p := path{"states", st.Name}
		set := make(map[string]bool)
		whole := true
		if st.Cycle != nil {
			c.cycle(p, st.Cycle)
		}
		for _, l := range st.Levels {
			q := p.with(l.Factor)
			f := c.factor(l.Factor)
			switch {
			case f == nil:
				var known []string
				for _, f := range s.Factors {
					known = append(known, f.Name)
				}
				c.fault(q, Accepting(l.Factor, known), "no factor called %q", l.Factor)
				whole = false
			case set[l.Factor]:
				c.fault(q, "one level", "the state sets %s twice", l.Factor)
				whole = false
			case !slices.Contains(f.Levels, l.Value):
				c.fault(q, Accepting(l.Value, f.Levels), "%s has no level %q", l.Factor, l.Value)
				whole = false
			}
			set[l.Factor] = true
		}
		var key []string
		for _, f := range s.Factors {
			if !set[f.Name] {
				c.fault(p, strings.TrimSpace(f.Name+": "+strings.Join(f.Levels, " or ")), "the state does not say the level of %s", f.Name)
				whole = false
			}
			key = append(key, st.Level(f.Name))
		}
		if k := strings.Join(key, "\x00"); whole && len(s.Factors) > 0 {
			if other, ok := alike[k]; ok {
				c.fault(p, "one more factor that tells them apart", "%s sets every factor as %s does", st.Name, other)
			} else {
				alike[k] = st.Name
			}
		}
	}
	c.names(path{"states"}, "state", names)
}

// cycle checks how a state's load comes and goes.
func (c *checker) cycle(p path, l *Cycle) {
	q := p.with("repeats every")
	if c.entry(q, &l.Period, quantity.Second) {
		if lo, _ := l.Seconds(); !(lo > 0) || l.Period.Kind == quantity.Repeats {
			c.fault(q, "2 s, 2 s ±5 % or 1.9..2.1 s", "%s is not a period", shown(&l.Period))
		}
	}
	for i := range l.Swings {
		s := &l.Swings[i]
		q := p.with("swings").with(s.Rail)
		if !slices.ContainsFunc(c.study.Boards, func(b *Board) bool { return b.Rail(s.Rail) != nil }) {
			c.fault(q, "a rail of one of the boards", "no rail is called %q", s.Rail)
		}
		if c.entry(q, &s.Amps, quantity.Ampere) && s.Amps.Kind != quantity.Band {
			c.fault(q, "0.4..2.8 A", "%s is not between two currents", shown(&s.Amps))
		}
	}
}

// factor returns the factor of that name, or nil.
func (c *checker) factor(name string) *Factor {
	for _, f := range c.study.Factors {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// comparisons checks that both sides of each are known and not the same.
func (c *checker) comparisons() {
	for i, x := range c.study.Comparisons {
		p := path{"compare", strconv.Itoa(i + 1)}
		c.stateOn(p.with("first"), x.First)
		c.stateOn(p.with("against"), x.Second)
		if x.First == x.Second {
			c.fault(p, "two states, or two boards", "%s is compared with itself", x.First)
		}
	}
}

func (c *checker) stateOn(p path, x StateOn) {
	if c.study.Board(x.Board) == nil {
		c.fault(p, Accepting(x.Board, c.boardNames()), "no board called %q", x.Board)
	}
	if c.study.State(x.State) == nil {
		c.fault(p, Accepting(x.State, c.stateNames()), "no state called %q", x.State)
	}
}

func (c *checker) boardNames() (out []string) {
	for _, b := range c.study.Boards {
		out = append(out, b.Name)
	}
	return out
}

func (c *checker) stateNames() (out []string) {
	for _, s := range c.study.States {
		out = append(out, s.Name)
	}
	return out
}
