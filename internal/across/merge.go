package across

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"

	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// Options say what the studies themselves do not.
type Options struct {
	// Labels tell the two studies apart: "2025", "2026"; empty: made from the days
	// of their sittings.
	Labels [2]string
	// Same names instruments that are one in both studies although nothing in them
	// says so.
	Same []string
}

// Merged is two studies as one.
type Merged struct {
	Study  *study.Study // sound; compares each state on each pair of boards, second less first
	Labels [2]string
	// Shared are the instruments that both studies were read with, by their names
	// in the merged study.
	Shared []string
	// Notes say what was taken as the same, what was not, and what must be minded.
	Notes []string
}

// side is one study on its way into the other.
type side struct {
	*study.Study
	label       string
	instruments map[string]string // new name by old
	boards      map[string]string
	states      map[string]string
}

// Merge makes one study of two sound ones, which stay as they are. It fails where
// nothing can be compared.
func Merge(first, second *study.Study, o Options) (*Merged, error) {
	m := &Merged{Labels: labels(first, second, o.Labels)}
	if m.Labels[0] == m.Labels[1] {
		return nil, fmt.Errorf("both studies are called %q: two labels are wanted", m.Labels[0])
	}
	var sides [2]*side
	for i, s := range []*study.Study{first, second} {
		c, err := copied(s)
		if err != nil {
			return nil, err
		}
		sides[i] = &side{Study: c, label: m.Labels[i], instruments: map[string]string{}, boards: map[string]string{}, states: map[string]string{}}
	}
	a, b := sides[0], sides[1]
	out := &study.Study{StaleZero: a.StaleZero, Question: fmt.Sprintf("%s (%s) beside %s (%s)", a.Question, a.label, b.Question, b.label)}
	m.Study = out
	if err := m.shareInstruments(a, b, o.Same); err != nil {
		return nil, err
	}
	m.repeated(a, b)
	m.nameBoards(a, b)
	m.matchStates(a, b)
	for _, s := range sides {
		s.rename()
		out.Boards = append(out.Boards, s.Boards...)
		for _, x := range s.Sittings {
			if x.Named && slices.ContainsFunc(other(s, a, b).Sittings, func(y *study.Sitting) bool { return y.Named && y.Name == x.Name }) {
				x.Name = labelled(x.Name, s.label)
			}
		}
	}
	// Names were compared above as they stand in both; only then do sittings join.
	out.Sittings = append(slices.Clone(a.Sittings), b.Sittings...)
	out.NameSittings()
	m.level(a, b)
	m.margin(a, b)
	m.sittingEffect(a, b)
	if err := m.compareBoards(a, b); err != nil {
		return nil, err
	}
	if faults := study.Check(out); len(faults) > 0 {
		return nil, fmt.Errorf("the two studies cannot be put together: %w", faults[0])
	}
	return m, nil
}

// repeated tells of sittings that both studies have: their readings say nothing
// about a change.
func (m *Merged) repeated(a, b *side) {
	for _, x := range a.Sittings {
		if slices.ContainsFunc(b.Sittings, func(y *study.Sitting) bool { return reflect.DeepEqual(x, y) }) {
			m.note("the sitting %s is the same in both studies, so there readings are compared with themselves", x.Name)
		}
	}
}

func other(s, a, b *side) *side {
	if s == a {
		return b
	}
	return a
}

func (m *Merged) note(format string, args ...any) {
	m.Notes = append(m.Notes, fmt.Sprintf(format, args...))
}

// copied is a study read from its own text.
func copied(s *study.Study) (*study.Study, error) {
	var b bytes.Buffer
	if err := studyfile.Write(&b, s); err != nil {
		return nil, err
	}
	c, _, err := studyfile.Read("study", b.Bytes())
	return c, err
}

func labelled(name, label string) string { return name + " (" + label + ")" }

// labels tells two studies apart by when they began: by the year where that
// does, else by the month, else by the day.
func labels(a, b *study.Study, given [2]string) [2]string {
	out := [2]string{"first", "second"}
	if len(a.Sittings) > 0 && len(b.Sittings) > 0 {
		x, y := began(a), began(b)
		for _, form := range []string{"2006", "January 2006", "2 January 2006"} {
			if x.Format(form) != y.Format(form) {
				out = [2]string{x.Format(form), y.Format(form)}
				break
			}
		}
	}
	for i, g := range given {
		if g != "" {
			out[i] = g
		}
	}
	return out
}

// level takes the first study's coverage probability.
func (m *Merged) level(a, b *side) {
	m.Study.Level = a.Level
	if a.Level != b.Level {
		m.note("the studies state their intervals at %s and at %s; here all are at %s",
			tally.Percent(a.Level), tally.Percent(b.Level), tally.Percent(a.Level))
	}
}

// margin takes the narrower of the limits within which states are called equal.
func (m *Merged) margin(a, b *side) {
	x, y := a.EqualWithin, b.EqualWithin
	m.Study.EqualWithin = x
	switch {
	case x == nil:
		m.Study.EqualWithin = y
	case y != nil && x.Value() != y.Value():
		if y.Value() < x.Value() {
			m.Study.EqualWithin = y
		}
		m.note("the studies call states equal within %s and within %s; the narrower limit counts here", x, y)
	}
}
