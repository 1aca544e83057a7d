package studyfile

import (
	"strconv"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readCooling reads how the chip of one board is cooled.
func (p place) readCooling() *study.Cooling {
	out := &study.Cooling{Board: p.key()}
	f, ok := p.fields(coolingSection)
	if !ok {
		return out
	}
	if l, ok := f.get("limits"); ok {
		for _, q := range l.named("the highest temperatures by name, as in {case: 95 °C}") {
			if e, ok := q.entry(quantity.Celsius, "95 °C"); ok {
				out.Limits = append(out.Limits, &study.TempLimit{Name: q.key(), Max: e})
			}
		}
	}
	out.LimitsFrom, out.Note = f.note("limits from"), f.note("note")
	out.Room = f.optional("room", quantity.Celsius, "45 °C")
	out.Power = f.optional("power", quantity.Watt, "7 W")
	out.Altitude = f.optional("altitude", quantity.Metre, "1500 m")
	if q, ok := f.get("air"); ok {
		out.Air, _ = choice(q, study.AirMotions)
	}
	out.Speed = f.optional("air speed", quantity.MetrePerSecond, "0.2 m/s")
	if l, ok := f.get("points"); ok {
		for _, q := range l.named("what temperatures are of, as in {lid: case}") {
			if w, ok := choice(q, study.PointKinds); ok {
				out.Points = append(out.Points, study.TempPoint{Name: q.key(), What: w})
			}
		}
	}
	if l, ok := f.get("infrared"); ok {
		for _, q := range l.named("temperatures read by infrared, as in {case: {emissivity: 0.95}}") {
			if x := q.readInfrared(); x != nil {
				out.Infrared = append(out.Infrared, x)
			}
		}
	}
	out.Junction = f.optional("junction above case", quantity.KelvinPerWatt, "0.4 K/W")
	out.Interface = f.optional("interface", quantity.KelvinPerWatt, "0.3 K/W")
	out.Chip = f.optional("chip side", quantity.Metre, "17.5 mm")
	if q, ok := f.get("sink"); ok {
		out.Sink = q.readHeatsink()
	}
	if q, ok := f.get("board"); ok {
		out.Under = q.readBoardCooler()
	}
	return out
}

func (p place) readInfrared() *study.Infrared {
	f, ok := p.fields(infraredSection)
	if !ok {
		return nil
	}
	x := &study.Infrared{Name: p.key(), Set: f.optional("set to", quantity.None, "0.95")}
	q, ok := f.need("emissivity", "0.95 ± 0.02")
	if !ok {
		return nil
	}
	x.Emissivity, ok = q.entry(quantity.None, "0.95 ± 0.02")
	if !ok {
		return nil
	}
	return x
}

func (p place) readHeatsink() *study.Heatsink {
	f, ok := p.fields(heatsinkSection)
	if !ok {
		return nil
	}
	h := &study.Heatsink{}
	if q, ok := f.need("kind", "plate fins, plate, pins, unknown"); ok {
		h.Kind, _ = choice(q, heat.Kinds)
	}
	h.Width = f.optional("width", quantity.Metre, "40 mm")
	h.Length = f.optional("length", quantity.Metre, "40 mm")
	h.Base = f.optional("base thickness", quantity.Metre, "3 mm")
	h.Fins = f.count("fins")
	h.Gap = f.optional("gap", quantity.Metre, "4.5 mm")
	h.FinHeight = f.optional("fin height", quantity.Metre, "20 mm")
	h.FinThick = f.optional("fin thickness", quantity.Metre, "1 mm")
	if q, ok := f.get("stands"); ok {
		h.Stands, _ = choice(q, heat.Stands)
	}
	h.Material, h.Finish = f.note("material"), f.note("finish")
	h.Emissivity = f.optional("emissivity", quantity.None, "0.8 ± 0.05")
	return h
}

func (p place) readBoardCooler() *study.BoardCooler {
	f, ok := p.fields(boardCoolerSection)
	if !ok {
		return nil
	}
	b := &study.BoardCooler{
		Width: f.optional("width", quantity.Metre, "120 mm"), Height: f.optional("height", quantity.Metre, "90 mm"),
		Thickness: f.optional("thickness", quantity.Metre, "1.6 mm"), Planes: f.count("planes"),
		Copper: f.optional("copper", quantity.Metre, "35 µm"), Faces: f.count("faces free"),
		Emissivity: f.optional("emissivity", quantity.None, "0.9"),
	}
	if q, ok := f.get("stands"); ok {
		b.Stands, _ = choice(q, []heat.Stand{heat.Upright, heat.FacingUp})
	}
	return b
}

// count reads a whole number above zero; absent it is 0.
func (f fields) count(key string) int {
	p, ok := f.get(key)
	if !ok {
		return 0
	}
	text, ok := p.text("a whole number")
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 10000 {
		p.fail("a whole number above zero", "%q is no count", text)
		return 0
	}
	return n
}
