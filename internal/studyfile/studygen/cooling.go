package studygen

import (
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// cooling draws how the chips of some boards are cooled.
func (g *gen) cooling(s *study.Study) {
	for _, b := range s.Boards {
		if !g.yes("cooled") {
			continue
		}
		c := &study.Cooling{Board: b.Name, Note: g.maybeProse("note"), LimitsFrom: g.maybeProse("limits from")}
		if g.yes("limits") {
			c.Limits = []*study.TempLimit{{Name: "junction", Max: g.of(quantity.Celsius, "105 °C", "95,5 °C")}}
		}
		c.Room = g.perhaps("room", quantity.Celsius, "45 °C", "40 ± 2 °C")
		c.Power = g.perhaps("power", quantity.Watt, "7 W", "6.5 ± 0.2 W", "6..7 W")
		c.Altitude = g.perhaps("altitude", quantity.Metre, "1500 m", "2 km")
		c.Air = pick(g, "air", "", study.StillAir, study.Draught, study.Fan)
		c.Speed = g.perhaps("speed", quantity.MetrePerSecond, "0.2 m/s", "10..30 cm/s")
		if g.yes("points") {
			c.Points = []study.TempPoint{{Name: g.name("point", ""), What: pick(g, "what", study.PointKinds...)}}
		}
		if g.yes("infrared") {
			x := &study.Infrared{Name: g.name("infrared", ""), Emissivity: g.of(quantity.None, "0.95 ± 0.02", "90 %")}
			x.Set = g.perhaps("set", quantity.None, "0.95", "1")
			c.Infrared = []*study.Infrared{x}
		}
		c.Junction = g.perhaps("junction", quantity.KelvinPerWatt, "0.4 K/W", "0..1 K/W")
		c.Interface = g.perhaps("interface", quantity.KelvinPerWatt, "0.3 ± 0.1 K/W")
		c.Chip = g.perhaps("chip", quantity.Metre, "17.5 mm", "15 ± 1 mm")
		if g.yes("sink") {
			c.Sink = g.heatsink()
		}
		if c.Chip != nil && g.yes("board") {
			e := g.of(quantity.Metre, "1.6 mm")
			w := g.of(quantity.Metre, "120 mm", "10 cm")
			c.Under = &study.BoardCooler{Width: &w, Height: &w, Thickness: &e, Planes: g.count("planes", 0, 4), Faces: g.count("faces", 0, 2),
				Stands: pick(g, "stands", "", heat.Upright, heat.FacingUp), Copper: g.perhaps("copper", quantity.Metre, "35 µm", "70 µm"),
				Emissivity: g.perhaps("emissivity", quantity.None, "0.9")}
		}
		s.Cooling = append(s.Cooling, c)
	}
}

func (g *gen) heatsink() *study.Heatsink {
	h := &study.Heatsink{Kind: pick(g, "kind", heat.Kinds...), Stands: pick(g, "stands", append(heat.Stands, "")...),
		Material: pick(g, "material", "", "copper", "die-cast aluminium")}
	if g.yes("finish") {
		h.Finish = pick(g, "finish", "anodised", "bare")
	} else {
		h.Emissivity = g.perhaps("emissivity", quantity.None, "0.8 ± 0.05", "0.3")
	}
	size := func(forms ...string) *quantity.Entry {
		e := g.of(quantity.Metre, forms...)
		return &e
	}
	if h.Kind == heat.Pins || h.Kind == heat.Unknown {
		return h
	}
	h.Width, h.Length, h.Base = size("40 mm", "5 cm"), size("40 mm", "37.5 mm"), size("3 mm")
	if h.Kind == heat.PlateFins {
		h.FinHeight, h.FinThick = size("20 mm", "12,5 mm"), size("1 mm")
		if g.yes("by gap") {
			h.Gap = size("4.5 mm", "3 mm")
		} else {
			h.Fins = g.count("fins", 2, 12)
		}
	}
	return h
}

// of draws one of several quantities of a unit.
func (g *gen) of(unit quantity.Unit, forms ...string) quantity.Entry {
	text := pick(g, "quantity", forms...)
	e, err := quantity.Parse(text, unit, "")
	if err != nil {
		panic("studygen: no quantity: " + text)
	}
	return e
}

// perhaps draws one, or nothing.
func (g *gen) perhaps(label string, unit quantity.Unit, forms ...string) *quantity.Entry {
	if !g.yes(label) {
		return nil
	}
	e := g.of(unit, forms...)
	return &e
}
