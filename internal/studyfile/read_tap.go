package studyfile

import (
	"fmt"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readTaps reads the tap of a rail, or one for each phase. A loop from the
// board's defaults (ownLoop false) serves only where something was inserted
// into the rail: to read a resistor that was there already, no loop is made.
func (f fields) readTaps(rail *study.Rail, ownLoop bool) {
	one, isOne := f.get("tap")
	many, isMany := f.get("taps")
	if isOne && isMany {
		many.fail("one of the two", `a rail has "tap", or "taps" for its phases`)
		return
	}
	if isOne {
		if t := one.readTap(""); t != nil {
			rail.Taps = append(rail.Taps, t)
		}
	}
	if isMany {
		for _, p := range many.named("taps by the name of the phase") {
			if t := p.readTap(p.key()); t != nil {
				rail.Taps = append(rail.Taps, t)
			}
		}
	}
	if rail.Bound != nil || f.written("not opened") {
		f.refuse("a rail that was not opened has none", "loop", "winding", "read by")
	}
	common := &study.Tap{}
	f.readTapFields(common)
	for _, t := range rail.Taps {
		inserted := t.Kind == study.TapClamp || t.Kind == study.TapShunt || t.Kind == study.TapSeries
		if t.Loop == nil && common.Loop != nil && (ownLoop || inserted) {
			loop := *common.Loop
			t.Loop = &loop
		}
		if t.Winding == nil && common.Winding != nil {
			w := *common.Winding
			t.Winding = &w
		}
		if t.Meter == "" && t.Kind != study.TapSeries {
			t.Meter, t.MeterRange = common.Meter, common.MeterRange
		}
	}
}

// readTap reads a tap written as a text or in its long form.
func (p place) readTap(name string) *study.Tap {
	if p.n.kind == broken {
		return nil
	}
	text := p
	var f fields
	if p.n.kind == mapping {
		f, _ = p.fields(tapSection)
		var ok bool
		if text, ok = f.need("tap", tapForms); !ok {
			return nil
		}
	}
	s, ok := text.text(tapForms)
	if !ok {
		return nil
	}
	t, c := parseTap(s, p.r.study.Instruments)
	if c != nil {
		text.fail(c.accept, "%s", c.message)
		return nil
	}
	t.Name = name
	if f.of != nil {
		if t.Resistor != nil {
			f.readStray(t.Resistor)
		} else {
			f.refuse("it belongs to a resistor that has no name", "temperature coefficient", "heating", "thermal emf")
		}
		f.readTapFields(t)
	}
	return t
}

// readTapFields reads what a tap and its rail can both say.
func (f fields) readTapFields(t *study.Tap) {
	t.Winding = f.optional("winding", quantity.Celsius, "45 ± 10 °C")
	if p, ok := f.get("loop"); ok {
		const like = "60 mm AWG 18"
		if text, ok := p.text(like); ok {
			if w, err := quantity.ParseWire(text); err != nil {
				p.failed(err, like)
			} else {
				t.Loop = &w
			}
		}
	}
	if p, ok := f.get("read by"); ok {
		if text, ok := p.text("a meter, perhaps with its range"); ok {
			var c *complaint
			if t.Meter, t.MeterRange, c = meterText(text, p.r.study.Instruments); c != nil {
				p.fail(c.accept, "%s", c.message)
			}
		}
	}
}

// meterText splits "pocket meter 500 mV" into a meter and its range.
func meterText(text string, all []*study.Instrument) (meter, rng string, c *complaint) {
	text = strings.Join(strings.Fields(text), " ")
	for _, in := range longestFirst(text, all) {
		rest := strings.TrimSpace(text[len(in.Name):])
		if rest == "" || in.Range(rest) != nil {
			return in.Name, rest, nil
		}
	}
	if found := longestFirst(text, all); len(found) > 0 {
		var names []string
		for _, rg := range found[0].Ranges {
			names = append(names, rg.Name)
		}
		rest := strings.TrimSpace(text[len(found[0].Name):])
		return "", "", &complaint{message: fmt.Sprintf("%s has no range called %q", found[0].Name, rest), accept: study.Accepting(rest, names)}
	}
	return "", "", unknownInstrument(text, all)
}
