package study

import (
	"errors"
	"fmt"
	"slices"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// ColdLimit and HotLimit are the temperatures in °C that a limit may name: from
// frozen to molten solder.
const ColdLimit, HotLimit = 0, 250

// coolings checks how boards are cooled. What cannot be computed is refused
// here by the formulas' own check, so that both say the same.
func (c *checker) coolings() {
	seen := map[string]bool{}
	for _, x := range c.study.Cooling {
		p := path{"cooling", x.Board}
		if seen[x.Board] {
			c.fault(p, "one section for each board", "the cooling of %s comes twice", x.Board)
		}
		seen[x.Board] = true
		if c.study.Board(x.Board) == nil {
			c.fault(p, Accepting(x.Board, c.boardNames()), "no board called %q", x.Board)
		}
		c.cooling(p, x)
	}
}

func (c *checker) cooling(p path, x *Cooling) {
	names := c.temperatureNames(x.Board)
	var limited []string
	for _, l := range x.Limits {
		q := p.with("limits", l.Name)
		limited = append(limited, l.Name)
		if l.Name != string(JunctionPoint) && len(names) > 0 && !slices.Contains(names, l.Name) {
			c.fault(q, Accepting(l.Name, append(slices.Clone(names), string(JunctionPoint))), "no temperature called %q is read on %s", l.Name, x.Board)
		}
		if c.entry(q, &l.Max, quantity.Celsius) && c.single(q, &l.Max) {
			c.celsius(q, &l.Max, ColdLimit, HotLimit)
		}
	}
	c.names(p.with("limits"), "limit", limited)
	if x.Room != nil {
		c.celsius(p.with("room"), x.Room, coldRoom, hotRoom)
	}
	c.amount(p.with("power"), x.Power, quantity.Watt)
	if e := x.Altitude; e != nil && c.entry(p.with("altitude"), e, quantity.Metre) {
		c.problems(p, heat.CheckAltitude(e.Value()))
	}
	if x.Air != "" && !slices.Contains(AirMotions, x.Air) {
		c.fault(p.with("air"), "still, draught, fan", "%q is none of the words known here", x.Air)
	}
	if e := x.Speed; e != nil && c.entry(p.with("air speed"), e, quantity.MetrePerSecond) {
		in := heat.Room(20)
		in.Speed = e.Value()
		c.problems(p, in.Check())
	}
	var points []string
	for _, t := range x.Points {
		points = append(points, t.Name)
		if !slices.Contains(PointKinds, t.What) {
			c.fault(p.with("points", t.Name), "case, sink, board, junction, other", "%q is none of the words known here", t.What)
		}
	}
	c.names(p.with("points"), "point", points)
	c.infrared(p.with("infrared"), x.Infrared)
	for _, f := range []field{{"junction above case", x.Junction}, {"interface", x.Interface}} {
		if f.e != nil && c.entry(p.with(f.key), f.e, quantity.KelvinPerWatt) {
			c.notNegative(p.with(f.key), f.e)
		}
	}
	c.amount(p.with("chip side"), x.Chip, quantity.Metre)
	if x.Sink != nil {
		c.heatsink(p.with("sink"), x.Sink)
	}
	if x.Under != nil {
		c.boardCooler(p.with("board"), x)
	}
}

// field is a quantity with the key it is written under.
type field struct {
	key string
	e   *quantity.Entry
}

// amount checks a quantity that may be absent and is above zero.
func (c *checker) amount(p path, e *quantity.Entry, unit quantity.Unit) bool {
	return e != nil && c.entry(p, e, unit) && c.positive(p, e)
}

func (c *checker) infrared(p path, list []*Infrared) {
	var names []string
	for _, x := range list {
		q := p.with(x.Name)
		names = append(names, x.Name)
		for _, f := range []field{{"emissivity", &x.Emissivity}, {"set to", x.Set}} {
			if f.e != nil && c.entry(q.with(f.key), f.e, quantity.None) {
				c.emissivity(q.with(f.key), f.e)
			}
		}
	}
	c.names(p, "temperature", names)
}

// emissivity checks a ratio that a surface can have and a thermometer be set to.
func (c *checker) emissivity(p path, e *quantity.Entry) bool {
	const least = 0.02 // polished metal
	if lo, hi := limitsOf(e); lo >= least && hi <= 1 {
		return true
	}
	c.fault(p, fmt.Sprintf("%g to 1, its tolerance included", least), "no surface has an emissivity of %s", shown(e))
	return false
}

func (c *checker) heatsink(p path, h *Heatsink) {
	sound := true
	for _, f := range []field{{"width", h.Width}, {"length", h.Length}, {"base thickness", h.Base},
		{"gap", h.Gap}, {"fin height", h.FinHeight}, {"fin thickness", h.FinThick}} {
		if f.e != nil {
			sound = c.amount(p.with(f.key), f.e, quantity.Metre) && sound
		}
	}
	if h.Emissivity != nil {
		ok := c.entry(p.with("emissivity"), h.Emissivity, quantity.None) && c.emissivity(p.with("emissivity"), h.Emissivity)
		sound = sound && ok
	}
	var metals, finishes []string
	for _, m := range heat.Materials() {
		metals = append(metals, m.Name)
	}
	for _, f := range heat.Finishes() {
		finishes = append(finishes, f.Name)
	}
	for _, w := range []struct {
		key, word string
		of        []string
	}{{"material", h.Material, metals}, {"finish", h.Finish, finishes}} {
		if w.word != "" && !slices.Contains(w.of, w.word) {
			c.fault(p.with(w.key), Accepting(w.word, w.of), "%q is none of the words known here", w.word)
			sound = false
		}
	}
	if h.Finish != "" && h.Emissivity != nil {
		c.fault(p.with("finish"), "one of the two", "the sink has a finish and an emissivity")
	}
	if h.Gap != nil && h.Fins != 0 {
		c.fault(p.with("gap"), "one of the two", "the sink has a count of fins and a gap between them")
		sound = false
	}
	if sound {
		c.problems(p, h.Shape().Check())
	}
}

func (c *checker) boardCooler(p path, x *Cooling) {
	b, sound := x.Under, true
	for _, f := range []field{{"width", b.Width}, {"height", b.Height}, {"thickness", b.Thickness}, {"copper", b.Copper}} {
		if f.e != nil {
			sound = c.amount(p.with(f.key), f.e, quantity.Metre) && sound
		}
	}
	if b.Emissivity != nil {
		ok := c.entry(p.with("emissivity"), b.Emissivity, quantity.None) && c.emissivity(p.with("emissivity"), b.Emissivity)
		sound = sound && ok
	}
	if b.Planes < 0 || b.Planes > 32 {
		c.fault(p.with("planes"), "0 to 32", "%d planes of copper", b.Planes)
		sound = false
	}
	if x.Chip == nil {
		c.fault(path{"cooling", x.Board, "chip side"}, "17.5 mm", "the board as a cooler needs the side of the chip")
		sound = false
	}
	if sound {
		c.problems(p, b.Shape(valueOf(x.Chip)).Check())
	}
}

// problems turns what the formulas refuse into faults of the fields.
func (c *checker) problems(p path, err error) {
	var list heat.Problems
	if errors.As(err, &list) {
		for _, x := range list {
			c.fault(p.with(x.Field), x.Accept, "%s", x.Message)
		}
	}
}

// temperatureNames lists the temperatures that are read on a board.
func (c *checker) temperatureNames(board string) (out []string) {
	for _, x := range c.study.Sittings {
		if x.Board != board {
			continue
		}
		for _, st := range x.Steps {
			for _, t := range st.Temperatures {
				if !slices.Contains(out, t.Name) {
					out = append(out, t.Name)
				}
			}
		}
	}
	return out
}
