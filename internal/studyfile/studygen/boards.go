package studygen

import (
	"fmt"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// board adds a board with rails of every kind.
func (g *gen) board(s *study.Study) {
	b := &study.Board{Name: g.name("board", ""), Chip: g.maybeProse("chip"), Note: g.maybeProse("note")}
	s.Boards = append(s.Boards, b)
	for range g.count("rails", 1, 5) {
		r := g.rail(s)
		if len(b.Rails) == 0 {
			r.Aside = false // one at least enters the chip
		}
		var parents []string
		for _, x := range b.Rails {
			if len(x.Taps) > 0 {
				parents = append(parents, x.Name)
			}
		}
		if len(parents) > 0 && g.yes("hangs on") {
			r.From = g.supply(pick(g, "parent", parents...))
		}
		b.Rails = append(b.Rails, r)
	}
	if g.yes("input") {
		in := g.rail(s)
		if g.yes("feeds") {
			in.Feeds = []string{pick(g, "fed", b.Rails...).Name}
		}
		if g.yes("expected") {
			in.Efficiency = g.entry("80..92 %", "0.85 ± 0.05")
		}
		b.Inputs = append(b.Inputs, in)
	}
}

// railName draws a name that is no key of a step and has no stroke.
func (g *gen) railName() string {
	return strings.ReplaceAll(g.name("rail", " R"), "/", "-")
}

func (g *gen) rail(s *study.Study) *study.Rail {
	r := &study.Rail{
		Name: g.railName(), Nominal: *g.entry("0.95 V ±3 %", "1.8 V", "3.3 V +5/-3 %", "-5 V ±0.1 V", "1,2 V ± 0,05 V"),
		Aside: g.yes("aside"), Note: g.maybeProse("note"),
	}
	if g.yes("feed") {
		r.Feed = pick(g, "feed", study.Feeds...)
	}
	if g.yes("converter") {
		r.Converter = pick(g, "converter", study.Converters...)
	}
	for range g.count("others", 0, 2) {
		r.Others = append(r.Others, &study.Other{Part: g.name("part", ""), Draws: *g.entry("5..15 mA", "3 mA ±1 mA", "<25 mA")})
	}
	switch n := g.count("taps", 0, 3); {
	case n == 0:
		r.Bound = g.entry("0..25 mA", "<10 mA", "1..2 A")
	case n == 1:
		r.Taps = []*study.Tap{g.tap(s, "")}
	default:
		for range n {
			r.Taps = append(r.Taps, g.tap(s, g.name("phase", " P")))
		}
	}
	return r
}

func (g *gen) supply(parent string) *study.Supply {
	f := &study.Supply{Rail: parent, Through: pick(g, "through", study.Throughs...)}
	switch {
	case f.Through == study.ThroughConverter:
		f.Efficiency = g.entry("82..92 %", "0.9", "0.85 ± 0.03")
	case f.Through == study.ThroughLinear && g.yes("own"):
		f.Own = g.entry("0..1 mA", "5 µA ±2 µA")
	}
	return f
}

// tap draws a tap of a kind for which there is an instrument.
func (g *gen) tap(s *study.Study, name string) *study.Tap {
	t := &study.Tap{Name: name, Turns: 1, Reversed: g.yes("reversed")}
	byKind := func(k study.InstrumentKind) (out []*study.Instrument) {
		for _, in := range s.Instruments {
			if in.Kind == k {
				out = append(out, in)
			}
		}
		return out
	}
	meters := byKind(study.Meter)
	t.Kind = pick(g, "kind", study.TapClamp, study.TapShunt, study.TapSense, study.TapInductor, study.TapSeries)
	clamps, shunts := byKind(study.Clamp), byKind(study.Shunt)
	if t.Kind == study.TapClamp && len(clamps) == 0 {
		t.Kind = study.TapShunt
	}
	switch {
	case t.Kind == study.TapClamp:
		in := pick(g, "clamp", clamps...)
		t.Instrument, t.Range = in.Name, pick(g, "range", in.Ranges...).Name
		t.Turns = g.count("turns", 1, 6)
	case t.Kind == study.TapSeries:
		in := pick(g, "meter", meters...)
		t.Instrument, t.Range = in.Name, in.Ranges[3].Name
	case t.Kind == study.TapShunt && len(shunts) > 0 && g.yes("named"):
		t.Instrument = shunts[0].Name
	default:
		v := g.resistor()
		t.Resistor = &v
	}
	if t.Kind == study.TapInductor {
		t.WindingRef = float64(g.count("reference", -10, 30)) / 2
		if g.yes("winding") {
			t.Winding = g.entry("45 ± 10 °C", "60 °C", "40..50 °C")
		}
	}
	if t.Kind != study.TapSeries && g.yes("read by") {
		in := pick(g, "meter", meters...)
		t.Meter = in.Name
		if g.yes("range") {
			t.MeterRange = in.Ranges[g.count("range", 0, 2)].Name
		}
	}
	if g.yes("loop") {
		w, err := quantity.ParseWire(pick(g, "wire", "60 mm AWG 18", fmt.Sprintf("%d mm AWG %d", g.count("mm", 1, 900), g.count("gauge", 0, 40)),
			"0.5 mm² 80 mm", "12 mΩ ±10 %"))
		if err != nil {
			panic(err)
		}
		t.Loop = &w
	}
	return t
}
