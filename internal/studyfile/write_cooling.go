package studyfile

import (
	"strconv"

	"railtally/internal/study"
)

// coolingsOut writes how chips are cooled, by board; nil when nothing is said.
func coolingsOut(s *study.Study) *out {
	all := newBlock()
	for _, c := range s.Cooling {
		all.put(c.Board, coolingOut(c))
	}
	return all.orNil()
}

func coolingOut(c *study.Cooling) *out {
	o := newBlock()
	limits := newMap()
	for _, l := range c.Limits {
		limits.put(l.Name, entryOut(&l.Max))
	}
	o.put("limits", limits.orNil())
	o.say("limits from", c.LimitsFrom)
	o.put("room", optional(c.Room))
	o.put("power", optional(c.Power))
	o.put("altitude", optional(c.Altitude))
	o.say("air", string(c.Air))
	o.put("air speed", optional(c.Speed))
	points := newMap()
	for _, p := range c.Points {
		points.say(p.Name, string(p.What))
	}
	o.put("points", points.orNil())
	infrared := newMap()
	for _, x := range c.Infrared {
		i := newMap()
		i.put("emissivity", entryOut(&x.Emissivity))
		i.put("set to", optional(x.Set))
		infrared.put(x.Name, i)
	}
	o.put("infrared", infrared.orNil())
	o.put("junction above case", optional(c.Junction))
	o.put("interface", optional(c.Interface))
	o.put("chip side", optional(c.Chip))
	if h := c.Sink; h != nil {
		o.put("sink", heatsinkOut(h))
	}
	if b := c.Under; b != nil {
		o.put("board", boardCoolerOut(b))
	}
	o.say("note", c.Note)
	if len(o.items) == 0 {
		return newMap() // {}: a board of which nothing is said
	}
	return o
}

func heatsinkOut(h *study.Heatsink) *out {
	o := newMap()
	o.say("kind", string(h.Kind))
	o.put("width", optional(h.Width))
	o.put("length", optional(h.Length))
	o.put("base thickness", optional(h.Base))
	o.put("fins", countOut(h.Fins))
	o.put("gap", optional(h.Gap))
	o.put("fin height", optional(h.FinHeight))
	o.put("fin thickness", optional(h.FinThick))
	o.say("stands", string(h.Stands))
	o.say("material", h.Material)
	o.say("finish", h.Finish)
	o.put("emissivity", optional(h.Emissivity))
	return o
}

func boardCoolerOut(b *study.BoardCooler) *out {
	o := newMap()
	o.put("width", optional(b.Width))
	o.put("height", optional(b.Height))
	o.put("thickness", optional(b.Thickness))
	o.put("planes", countOut(b.Planes))
	o.put("copper", optional(b.Copper))
	o.put("faces free", countOut(b.Faces))
	o.say("stands", string(b.Stands))
	o.put("emissivity", optional(b.Emissivity))
	return o
}

// countOut is a whole number, nil when it is 0.
func countOut(n int) *out {
	if n == 0 {
		return nil
	}
	return text(strconv.Itoa(n))
}
