package studyfile

import (
	"fmt"
	"reflect"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

func boardOut(s *study.Study, b *study.Board) *out {
	o := newBlock()
	o.say("chip", b.Chip)
	o.say("note", b.Note)
	for _, part := range []struct {
		key   string
		rails []*study.Rail
	}{{"rails", b.Rails}, {"inputs", b.Inputs}} {
		rails := newBlock()
		for _, r := range part.rails {
			rails.put(r.Name, railOut(s, r))
		}
		o.put(part.key, rails.orNil())
	}
	return o
}

func railOut(s *study.Study, r *study.Rail) *out {
	o := newMap()
	o.put("nominal", entryOut(&r.Nominal))
	o.say("feed", string(r.Feed))
	o.say("converter", string(r.Converter))
	if len(r.Taps) == 1 && r.Taps[0].Name == "" {
		t := r.Taps[0]
		o.put("tap", tapOut(s, t, false))
		tapFieldsOut(o, t)
	} else {
		taps := newMap()
		for _, t := range r.Taps {
			taps.put(t.Name, tapOut(s, t, true))
		}
		o.put("taps", taps.orNil())
	}
	o.put("not opened", optional(r.Bound))
	o.put("opening", openingOut(r.Opening))
	if f := r.From; f != nil {
		h := newMap()
		h.say("rail", f.Rail)
		h.say("through", throughWord(f.Through))
		h.put("efficiency", optional(f.Efficiency))
		h.put("own current", optional(f.Own))
		o.put("hangs on", h)
	}
	others := newMap()
	for _, x := range r.Others {
		others.put(x.Part, entryOut(&x.Draws))
	}
	o.put("also feeds", others.orNil())
	feeds := &out{kind: list}
	for _, name := range r.Feeds {
		feeds.add(text(name))
	}
	o.put("feeds", feeds.orNil())
	o.put("efficiency", optional(r.Efficiency))
	if r.Aside {
		o.say("enters the chip", "no")
	}
	o.say("checks", r.Checks)
	o.say("note", r.Note)
	return o
}

// tapOut writes a tap as a text where that says everything. Loop, winding and
// meter of a rail's only tap stand at the rail; whole tells to write them here.
func tapOut(s *study.Study, t *study.Tap, whole bool) *out {
	o := newMap()
	o.say("tap", tapText(s, t))
	if whole {
		tapFieldsOut(o, t)
	}
	if t.Resistor != nil {
		strayOut(o, t.Resistor)
	}
	if len(o.items) == 1 {
		return o.items[0]
	}
	return o
}

func tapFieldsOut(o *out, t *study.Tap) {
	if t.Loop != nil {
		o.say("loop", wireText(t.Loop))
	}
	o.put("winding", optional(t.Winding))
	o.say("read by", join(t.Meter, t.MeterRange))
}

// tapText writes a tap as parseTap reads it.
func tapText(s *study.Study, t *study.Tap) string {
	text := ""
	switch {
	case t.Resistor != nil && t.Kind == study.TapInductor:
		text = fmt.Sprintf("inductor %s at %s", entryText(&t.Resistor.Resistance), celsiusText(t.WindingRef))
	case t.Resistor != nil:
		text = string(t.Kind) + " " + entryText(&t.Resistor.Resistance)
	case t.Kind == study.TapSeries:
		text = "series meter " + instrumentText(s, t.Instrument, t.Range)
	default:
		text = instrumentText(s, t.Instrument, t.Range)
	}
	if t.Turns > 1 {
		text += fmt.Sprintf(" ×%d", t.Turns)
	}
	if t.Reversed {
		text += " reversed"
	}
	return text
}

// instrumentText names an instrument with its range. The only range of an
// instrument is named too, so that the text stays true when it gets a second.
func instrumentText(s *study.Study, name, rng string) string {
	if in := s.Instrument(name); in != nil {
		if r := in.Range(rng); r != nil {
			rng = r.Name
		}
	}
	return join(name, rng)
}

// join puts a space between two words, if there are two.
func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " " + b
}

// wireText writes a loop; one that is known by its resistance keeps the form in
// which that was typed.
func wireText(w *quantity.Wire) string {
	if w.Resistance != nil {
		typed := entryText(w.Resistance)
		if again, err := quantity.ParseWire(typed); err == nil && reflect.DeepEqual(again, *w) {
			return typed
		}
	}
	return w.String()
}
