package chart

import (
	"fmt"
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Lanes draws the rail lanes of one state of one board: a lane for each rail
// from its feed to the chip, as wide as its power, with its tap where it
// stands. Lanes join at the chip, to scale, where the total stands.
func Lanes(t *tally.Tally, on study.StateOn, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	st := t.State(on)
	if st == nil {
		b := t.Study.Board(on.Board)
		if b == nil || t.Study.State(on.State) == nil {
			return nil, fmt.Errorf("chart: no state called %q on a board called %q", on.State, on.Board)
		}
		st = &tally.State{Board: b, State: t.Study.State(on.State)}
		for _, r := range b.Rails {
			if r.Bound == nil {
				st.Missing = append(st.Missing, r.Name)
			}
		}
	}
	lanes, err := newLanes(o.w, st)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "lanes", title: on.String(),
		explained: o.w.Text("Each rail from feed to chip, as wide as its power; soft edge and ±: %s coverage interval.", o.w.soft(t.Level)),
		summary:   lanes.summary(),
	}
	if lanes.any(func(l *lane) bool { return l.bounded() }) {
		sub.explained += " " + o.w.Text("Dashed: not opened, drawn at its most.")
	}
	return compose(o, sub, func(s *sheet) {
		if len(lanes.list) == 0 {
			s.nothing(o.w.Text("No rails are recorded yet."))
			return
		}
		s.lanes(lanes)
	})
}

// lane is one rail in the drawing.
type lane struct {
	spec   *study.Rail
	rail   *tally.Rail // nil when it was not read
	depth  int         // 0, or 1 more than the lane it branches off
	parent *lane
	kids   []*lane

	power float64 // what enters the chip, watts; of a bound, the most
	drawn float64 // what passes the tap, watts

	// Where it is drawn; y runs downwards.
	x0    float64 // where it begins
	tap   float64 // where its tap stands
	y     float64 // middle of the part that goes to the chip
	width float64 // of that part
	gross float64 // width before anything branches off
	core  float64 // width up to the lower end of the interval
	whole float64 // width up to the upper end
	entry float64 // y where it meets the chip
}

func (l *lane) bounded() bool { return l.spec.Bound != nil }

// enters tells whether the lane reaches the chip.
func (l *lane) enters() bool { return !l.spec.Aside }

// laneSet is the lanes of one state, in the order in which they are drawn:
// each rail is followed by those that hang on it.
type laneSet struct {
	w     words
	state *tally.State
	list  []*lane
}

func newLanes(w words, st *tally.State) (laneSet, error) {
	set := laneSet{w: w, state: st}
	if st.Complete {
		if err := finite(st.Total, st.On().String()+": total"); err != nil {
			return set, err
		}
	}
	byName := map[string]*lane{}
	for _, r := range st.Board.Rails {
		l := &lane{spec: r, rail: st.Rail(r.Name)}
		if l.rail != nil {
			if err := l.measure(st.On().String() + ", " + r.Name); err != nil {
				return set, err
			}
		}
		byName[r.Name] = l
	}
	for _, r := range st.Board.Rails {
		if l := byName[r.Name]; r.From != nil && byName[r.From.Rail] != nil && r.From.Rail != r.Name {
			l.parent = byName[r.From.Rail]
			l.parent.kids = append(l.parent.kids, l)
		}
	}
	var add func(l *lane, depth int)
	add = func(l *lane, depth int) {
		l.depth = depth
		set.list = append(set.list, l)
		for _, k := range l.kids {
			add(k, depth+1)
		}
	}
	for _, r := range st.Board.Rails {
		if l := byName[r.Name]; l.parent == nil {
			add(l, 0)
		}
	}
	return set, nil
}

// measure takes over the figures that the lane shows.
func (l *lane) measure(of string) error {
	for _, f := range []struct {
		f    tally.Figure
		what string
	}{{l.rail.Voltage, "voltage"}, {l.rail.Drawn, "drawn current"}, {l.rail.Current, "current"}, {l.rail.Power, "power"}} {
		if err := finite(f.f, of+": "+f.what); err != nil {
			return err
		}
	}
	l.power = l.rail.Power.Estimate
	l.drawn = l.rail.Polarity() * l.rail.Voltage.Estimate * l.rail.Drawn.Estimate
	if l.bounded() {
		l.power = maxPower(l.rail)
		l.drawn = l.power
	}
	return nil
}

func (s laneSet) any(is func(*lane) bool) bool {
	for _, l := range s.list {
		if is(l) {
			return true
		}
	}
	return false
}

func (s laneSet) summary() string {
	var parts []string
	for _, l := range s.list {
		parts = append(parts, l.tip(s.w))
	}
	total := s.w.noTotal(s.state)
	if s.state.Complete {
		total = s.w.Text("total %s", s.w.written(s.state.Total, quantity.Watt))
	}
	return strings.Join(append(parts, total), "; ")
}

// tip is the lane in words.
func (l *lane) tip(w words) string {
	switch {
	case l.rail == nil && l.bounded():
		return w.Text("%s: not opened", l.spec.Name)
	case l.rail == nil:
		return w.Text("%s: not read", l.spec.Name)
	case l.bounded():
		return w.Text("%s: not opened, %s, %s", l.spec.Name, w.boundText(l.rail, boundPrefix(l.rail, quantity.Ampere)), w.boundText(l.rail, boundPrefix(l.rail, quantity.Watt)))
	}
	text := l.spec.Name + ": " + w.written(l.rail.Voltage, quantity.Volt) + ", " + w.written(l.rail.Current, quantity.Ampere) + ", " + w.written(l.rail.Power, quantity.Watt)
	if !l.enters() {
		text += ", " + w.Text("not into the chip")
	}
	return text
}

// powers are the figures of the lanes' column.
func (s laneSet) powers() []tally.Figure {
	var out []tally.Figure
	for _, l := range s.list {
		if l.rail != nil && !l.bounded() {
			out = append(out, l.rail.Power)
		}
	}
	return out
}

// shown is the role that a lane is drawn in.
func (l *lane) shown() (solid, soft look.Role) {
	if !l.enters() {
		return look.Edge, look.Line
	}
	return look.Accent, look.AccentSoft
}
