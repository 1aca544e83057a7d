package studyfile

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// sittingsOut writes the sittings, and what all of them share at the bench.
func sittingsOut(root *out, s *study.Study) {
	shared := map[string]bool{}
	bench := newMap()
	if len(s.Sittings) > 1 {
		headOut(bench, s.Sittings[0], nil)
		for _, key := range bench.keys {
			shared[key] = true
		}
		for _, x := range s.Sittings[1:] {
			head := newMap()
			headOut(head, x, nil)
			for i, key := range bench.keys {
				shared[key] = shared[key] && same(bench.items[i], head.get(key))
			}
		}
	}
	kept := newMap()
	if u := s.Usual; u != nil && len(s.Sittings) == 0 {
		headOut(kept, &study.Sitting{VoltageMeter: u.VoltageMeter, CurrentMeter: u.CurrentMeter, Thermometer: u.Thermometer, By: u.By}, nil)
		kept.put("room", optional(u.Room))
	}
	for i, key := range bench.keys {
		if shared[key] {
			kept.put(key, bench.items[i])
		}
	}
	root.put("bench", kept.orNil())
	sittings := &out{kind: list, block: true}
	for _, x := range s.Sittings {
		sittings.add(sittingOut(s, x, shared))
	}
	root.put("sittings", sittings.orNil())
}

// get returns the value of a key, or nil.
func (o *out) get(key string) *out {
	for i, k := range o.keys {
		if k == key {
			return o.items[i]
		}
	}
	return nil
}

// same tells whether two nodes are written alike.
func same(a, b *out) bool {
	if a == nil || b == nil {
		return a == b
	}
	x, y := &out{kind: list, items: []*out{a}}, &out{kind: list, items: []*out{b}}
	s, _ := x.oneLine(0)
	t, _ := y.oneLine(0)
	return s == t
}

// headOut writes what a sitting can share with others, but for the keys that
// stand at the bench.
func headOut(o *out, x *study.Sitting, shared map[string]bool) {
	head := newMap()
	switch {
	case x.VoltageMeter == x.CurrentMeter:
		head.say("meter", x.VoltageMeter)
	default:
		m := newMap()
		m.say("current", x.CurrentMeter)
		m.say("voltage", x.VoltageMeter)
		head.put("meter", m)
	}
	head.say("thermometer", x.Thermometer)
	head.say("by", x.By)
	for i, key := range head.keys {
		if !shared[key] {
			o.put(key, head.items[i])
		}
	}
}

func sittingOut(s *study.Study, x *study.Sitting, shared map[string]bool) *out {
	o := newBlock()
	if x.Named {
		o.say("name", x.Name)
	}
	o.say("board", x.Board)
	on := x.On.UTC()
	if x.Clock {
		o.say("on", on.Format(dayForm+" "+clockOf(on)))
	} else {
		o.say("on", on.Format(dayForm))
	}
	o.put("room", optional(x.Room))
	headOut(o, x, shared)
	o.say("note", x.Note)
	steps := &out{kind: list, block: true}
	before := x.On.UTC()
	if !x.Clock {
		before = midnight(before)
	}
	for _, st := range x.Steps {
		steps.add(stepOut(s, st, before))
		if !st.At.IsZero() {
			before = st.At.UTC()
		}
	}
	o.put("steps", steps.orNil())
	return o
}

func stepOut(s *study.Study, st *study.Step, before time.Time) *out {
	o := newBlock()
	zeros := newMap()
	for _, z := range st.Zeros {
		key := z.Key()
		if z.Instrument != "" {
			key = instrumentText(s, z.Instrument, z.Range)
		}
		zeros.put(key, readingOut(&z.Reading))
	}
	o.put("zero", zeros.orNil())
	o.say("state", st.State)
	if !st.At.IsZero() {
		o.say("at", timeText(st.At.UTC(), before))
	}
	for _, r := range st.Rails {
		o.put(r.Rail, railReadingOut(r))
	}
	temperatures := newMap()
	for _, t := range st.Temperatures {
		temperatures.put(t.Name, readingOut(&t.Reading))
	}
	o.put("temperatures", temperatures.orNil())
	o.put("throughput", optional(st.Throughput))
	o.say("note", st.Note)
	return o
}

// timeText writes the time of a step as the time of day, where that is enough.
func timeText(t, before time.Time) string {
	short := t.Format(clockOf(t))
	if again, pause, ok := stepTime(short, before); ok && again.Equal(t) && (pause <= maxPause || before.Equal(midnight(before))) {
		return short
	}
	return t.Format(dayForm + " " + clockOf(t))
}

func railReadingOut(r *study.RailReading) *out {
	o := newMap()
	if len(r.Current) == 1 && r.Current[0].Tap == "" {
		o.put("i", tapReadingOut(r.Current[0]))
	} else {
		phases := newMap()
		for _, c := range r.Current {
			phases.put(c.Tap, tapReadingOut(c))
		}
		o.put("i", phases.orNil())
	}
	if r.Voltage != nil {
		key := "v"
		if r.FeedSide {
			key = "v at feed"
		}
		o.put(key, readingOut(r.Voltage))
	}
	o.say("note", r.Note)
	return o
}

func tapReadingOut(c *study.TapReading) *out {
	if c.Back == nil && c.WithVoltage == nil {
		return readingOut(&c.Reading)
	}
	if c.Back == nil {
		o := longReadingOut(&c.Reading)
		o.put("with v", entryOut(c.WithVoltage))
		return o
	}
	o := newMap()
	o.put("forward", readingOut(&c.Reading))
	o.put("back", readingOut(c.Back))
	return o
}

func readingOut(r *study.Reading) *out {
	if r.Meter == "" && r.Range == "" && r.From == "" {
		return entryOut(&r.Entry)
	}
	return longReadingOut(r)
}

func longReadingOut(r *study.Reading) *out {
	o := newMap()
	o.put("read", entryOut(&r.Entry))
	o.say("on", r.Range)
	o.say("meter", r.Meter)
	o.say("from", r.From)
	return o
}

// celsiusText writes a temperature.
func celsiusText(x float64) string { return amountText(x, quantity.Celsius) }
