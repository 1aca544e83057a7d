package studyfile

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// bench is what every sitting has unless it says otherwise.
type bench struct {
	voltage, current, thermometer, by place
	room                              place
}

// readBench only remembers the places: a fault in a default is then found where
// it is used, and points here.
func (p place) readBench() (b bench) {
	f, _ := p.fields(benchSection)
	if m, ok := f.get("meter"); ok {
		b.voltage, b.current = m.meters()
	}
	b.thermometer, b.room, b.by = f.of["thermometer"], f.of["room"], f.of["by"]
	// The bench is read once for itself, so that a study without sittings has
	// its faults found too.
	for _, q := range []place{b.thermometer, b.by} {
		if q.n != nil {
			q.text("a text")
		}
	}
	if b.room.n != nil {
		b.room.entry(quantity.Celsius, "23 ± 1 °C")
	}
	return b
}

// meters reads one meter for everything, or one for currents and one for
// voltages.
func (p place) meters() (voltage, current place) {
	if p.n.kind != mapping {
		if _, ok := p.text("the name of a meter, or {current: …, voltage: …}"); !ok {
			return place{}, place{}
		}
		return p, p
	}
	f, _ := p.fields(metersSection)
	return f.of["voltage"], f.of["current"]
}

// readSitting reads one sitting.
func (p place) readSitting(b bench) *study.Sitting {
	f, ok := p.fields(sittingSection)
	if !ok {
		return &study.Sitting{}
	}
	out := &study.Sitting{Note: f.note("note")}
	if q, ok := f.get("name"); ok {
		out.Name, out.Named = q.text("a name for the sitting")
	}
	if q, ok := f.need("board", "the name of a board"); ok {
		out.Board, _ = q.text("the name of a board")
	}
	if q, ok := f.need("on", "2026-03-14 15:20"); ok {
		out.On, out.Clock = q.readDayAndTime()
	}
	voltage, current := b.voltage, b.current
	if m, ok := f.get("meter"); ok {
		v, c := m.meters()
		if v.n != nil {
			voltage = v
		}
		if c.n != nil {
			current = c
		}
	}
	out.VoltageMeter = f.inherit(voltage, "meter", "voltage")
	out.CurrentMeter = f.inherit(current, "meter", "current")
	out.Thermometer = f.inherit(f.or("thermometer", b.thermometer), "thermometer")
	out.By = f.inherit(f.or("by", b.by), "by")
	if room := f.or("room", b.room); room.n != nil {
		p.r.index.set(extend(p.path, "room"), room.n.spot)
		if e, ok := (place{p.r, extend(p.path, "room"), room.n}).entry(quantity.Celsius, "23 ± 1 °C"); ok {
			out.Room = &e
		}
	}
	if q, ok := f.get("steps"); ok {
		before := out.On
		for _, q := range q.list("a list of steps, each beginning with - state: or - zero:") {
			st := q.readStep(p.r.study, out, before)
			out.Steps = append(out.Steps, st)
			if !st.At.IsZero() {
				before = st.At
			}
		}
	}
	return out
}

// or returns a field, or the bench's where the sitting does not have it.
func (f fields) or(key string, b place) place {
	if p, ok := f.get(key); ok {
		return p
	}
	return b
}

// inherit reads a name that may stand at the bench, and lets the index find it
// there.
func (f fields) inherit(p place, key ...string) string {
	if p.n == nil || p.n.kind != scalar {
		return ""
	}
	at := extend(f.path, key...)
	f.r.index.set(at, p.n.spot)
	s, _ := place{f.r, at, p.n}.text("a name")
	return s
}

// readDayAndTime reads a day, perhaps with a time of day.
func (p place) readDayAndTime() (t time.Time, clock bool) {
	const like = "2026-03-14, or 2026-03-14 15:20 with no time zone"
	text, ok := p.text(like)
	if !ok {
		return t, false
	}
	if t, ok := fullTime(text); ok {
		return t, true
	}
	t, err := time.Parse(dayForm, text)
	if err != nil {
		p.fail(like, "%q is not a date", text)
	}
	return t, false
}
