package study

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"railtally/internal/quantity"
)

// Check finds every fault of meaning in a study at once: names that lead
// nowhere or mean two things, quantities that cannot be, readings that do not
// fit what was read. It returns nil when the study is sound. A path is made of
// the keys of the text form; sittings, steps and comparisons are numbered in
// it from 1.
func Check(s *Study) []Fault {
	c := &checker{study: s}
	c.general()
	c.instruments()
	for _, b := range s.Boards {
		c.board(b)
	}
	c.factors()
	c.interactions()
	c.states()
	c.comparisons()
	c.carried()
	c.claims()
	c.plan()
	c.work()
	c.done()
	c.coolings()
	c.sittings()
	return c.faults
}

// checker gathers the faults of one study.
type checker struct {
	study  *Study
	faults []Fault
}

// path is a place in the record.
type path []string

// with returns the path of something inside.
func (p path) with(keys ...string) path {
	return append(append(make(path, 0, len(p)+len(keys)), p...), keys...)
}

func (c *checker) fault(p path, accept, format string, a ...any) {
	c.faults = append(c.faults, Fault{Path: p, Message: fmt.Sprintf(format, a...), Accept: accept})
}

// The bounds of a coverage probability that a study may ask for.
const minLevel, maxLevel = 0.5, 0.9999

func (c *checker) general() {
	s := c.study
	if strings.TrimSpace(s.Question) == "" {
		c.fault(path{"study"}, "the question that is to be answered", "the study asks nothing")
	}
	if !(s.Level >= minLevel && s.Level <= maxLevel) {
		c.fault(path{"level"}, "50 % to 99.99 %", "a coverage probability of %s", percent(s.Level))
	}
	if e := s.EqualWithin; e != nil && c.entry(path{"equal within"}, e, quantity.Watt) {
		c.positive(path{"equal within"}, e)
	}
	if e := s.StaleZero; e != nil && c.entry(path{"stale zero"}, e, quantity.Second) {
		c.positive(path{"stale zero"}, e)
	}
	names := make([]string, len(s.Boards))
	for i, b := range s.Boards {
		names[i] = b.Name
	}
	if len(names) == 0 {
		c.fault(path{"boards"}, "at least one board with its rails", "the study has no board")
	}
	c.names(path{"boards"}, "board", names)
}

func percent(x float64) string { return fmt.Sprintf("%.6g %%", 100*x) }

// maxName is the longest name, in characters, that fits a table.
const maxName = 100

// names checks names that stand side by side: each must be writable, and no two
// may be told apart by case or spacing alone.
func (c *checker) names(p path, what string, names []string) {
	first := make(map[string]string, len(names))
	for _, n := range names {
		c.name(p.with(n), what, n)
		k := plain(n)
		other, taken := first[k]
		switch {
		case !taken:
			first[k] = n
		case other == n:
			c.fault(p.with(n), "another name", "the %s %q comes twice", what, n)
		default:
			c.fault(p.with(n), "another name", "the %ss %q and %q differ only in case or spacing", what, other, n)
		}
	}
}

// name checks that a name can be written and read back.
func (c *checker) name(p path, what, n string) {
	switch {
	case strings.TrimSpace(n) == "":
		c.fault(p, "a name", "the %s has no name", what)
	case !utf8.ValidString(n) || strings.ContainsFunc(n, func(r rune) bool { return unicode.IsControl(r) }):
		c.fault(p, "letters, figures, signs and spaces", "the name of the %s holds a control character", what)
	case n != strings.Join(strings.Fields(n), " "):
		c.fault(p, strings.Join(strings.Fields(n), " "), "the name %q has spaces at an end or in a row", n)
	case utf8.RuneCountInString(n) > maxName:
		c.fault(p, fmt.Sprintf("at most %d characters", maxName), "the name of the %s is %d characters long", what, utf8.RuneCountInString(n))
	}
}

// reserved refuses names that the text form uses as keys at the same place.
func (c *checker) reserved(p path, what, n string, keys ...string) {
	if slices.Contains(keys, plain(n)) {
		c.fault(p, "another name", "%q means something else in a study, so no %s can be called that", n, what)
	}
}

// entry checks that a quantity is of its unit and sound in itself.
func (c *checker) entry(p path, e *quantity.Entry, want quantity.Unit) bool {
	if len(e.Values) == 0 {
		c.fault(p, "a "+want.String(), "no value")
		return false
	}
	if e.Unit != want {
		c.fault(p, want.Accept(), "%s is a %s; a %s is wanted here", shown(e), e.Unit, want)
		return false
	}
	for _, v := range e.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			c.fault(p, "a finite number", "the value is not finite")
			return false
		}
	}
	if e.Kind == quantity.Band && (len(e.Values) != 2 || e.Values[0] > e.Values[1]) {
		c.fault(p, "the lower value first", "the band has no order")
		return false
	}
	if t := e.Tol; t != nil && !(t.Minus >= 0 && t.Plus >= 0) {
		c.fault(p, "half-widths of zero or more", "the tolerance is negative")
		return false
	}
	return true
}

// positive checks that every value of a quantity is above zero.
func (c *checker) positive(p path, e *quantity.Entry) bool {
	if slices.Min(e.Values) > 0 {
		return true
	}
	c.fault(p, "a "+e.Unit.String()+" above zero", "%s is not above zero", shown(e))
	return false
}

// notNegative checks that no value of a quantity is below zero.
func (c *checker) notNegative(p path, e *quantity.Entry) bool {
	if slices.Min(e.Values) >= 0 {
		return true
	}
	c.fault(p, "a "+e.Unit.String()+" of zero or more", "%s is below zero", shown(e))
	return false
}

// single checks that a quantity is one value.
func (c *checker) single(p path, e *quantity.Entry) bool {
	if e.Kind == quantity.Single {
		return true
	}
	c.fault(p, "one value", "%s is a %s", shown(e), e.Kind)
	return false
}

// shown is a quantity as it was written.
func shown(e *quantity.Entry) string {
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}

// celsius checks a temperature against the bounds of what is plausible.
func (c *checker) celsius(p path, e *quantity.Entry, lo, hi float64) {
	if !c.entry(p, e, quantity.Celsius) {
		return
	}
	for _, v := range e.Values {
		if v < lo || v > hi {
			c.fault(p, fmt.Sprintf("%g to %g °C", lo, hi), "%s is no plausible temperature here", shown(e))
			return
		}
	}
}
