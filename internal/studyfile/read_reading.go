package studyfile

import (
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readRailReading reads {i: …, v: …} of one rail. A rail that is not known (nil)
// is read without knowing what its tap shows.
func (p place) readRailReading(rail *study.Rail) *study.RailReading {
	out := &study.RailReading{Rail: p.key()}
	f, ok := p.fields(railReadingSection)
	if !ok {
		return out
	}
	out.Note = f.note("note")
	if q, ok := f.get("i"); ok {
		out.Current = q.readCurrents(rail)
	}
	v, okV := f.get("v")
	feed, okFeed := f.get("v at feed")
	if okV && okFeed {
		feed.fail("one of the two", `a step holds "v", or "v at feed"`)
		return out
	}
	if okFeed {
		v, out.FeedSide = feed, true
	}
	if okV || okFeed {
		if x, ok := v.readReading(quantity.Volt, quantity.Ampere, "0.951 V"); ok {
			out.Voltage = &x
		}
	}
	return out
}

// readCurrents reads what stands under i: one reading, in any of its forms, or
// one for each phase.
func (p place) readCurrents(rail *study.Rail) (out []*study.TapReading) {
	if p.n.kind != mapping || p.holds("read") || p.bothWays() {
		if t := p.readTapReading("", tapOf(rail, "")); t != nil {
			out = append(out, t)
		}
		return out
	}
	for _, q := range p.named("one reading, or one for each phase by its name") {
		if t := q.readTapReading(q.key(), tapOf(rail, q.key())); t != nil {
			out = append(out, t)
		}
	}
	return out
}

// tapOf returns a tap of a rail that may be unknown.
func tapOf(rail *study.Rail, name string) *study.Tap {
	if rail == nil {
		return nil
	}
	return rail.Tap(name)
}

// holds tells whether a mapping has a key.
func (p place) holds(key string) bool { return fields{place: p}.written(key) }

// bothWays tells whether a reading was taken twice, with the wire turned round
// in between.
func (p place) bothWays() bool { return p.holds("forward") || p.holds("back") }

// readTapReading reads what was read at one tap.
func (p place) readTapReading(name string, tap *study.Tap) *study.TapReading {
	want, like := quantity.Volt, "402.1 mV"
	if tap != nil && tap.Shows() == quantity.Ampere {
		want, like = quantity.Ampere, "0.12 A"
	}
	out := &study.TapReading{Tap: name}
	if !p.bothWays() {
		var ok bool
		if out.Reading, out.WithVoltage, ok = p.readWithVoltage(want, other(want), like); !ok {
			return nil
		}
		return out
	}
	f, _ := p.fields(bothWaysSection)
	forward, ok1 := f.need("forward", like)
	back, ok2 := f.need("back", "-"+like)
	if !ok1 || !ok2 {
		return nil
	}
	out.Reading, ok1 = forward.readReading(want, other(want), like)
	b, ok2 := back.readReading(want, other(want), like)
	out.Back = &b
	if !ok1 || !ok2 {
		return nil
	}
	return out
}

// other is the unit that is written by mistake where the one is wanted. It is
// read all the same, because Check explains the mistake better.
func other(u quantity.Unit) quantity.Unit {
	if u == quantity.Volt {
		return quantity.Ampere
	}
	return quantity.Volt
}

// readShare reads a part with its uncertainty, "0.12 % ± 0.01 %".
func (p place) readShare() *quantity.Entry {
	const like = "(0.12 ± 0.01) % (k=1)"
	text, ok := p.text(like)
	if !ok {
		return nil
	}
	e, err := quantity.Parse(text, quantity.None, "")
	if err != nil {
		p.failQuantity(text, quantity.None, like, err)
		return nil
	}
	return &e
}

// readReading reads a reading as a text or in its long form, {read: 3.29 V,
// on: 5 V, meter: pocket meter}.
func (p place) readReading(want, instead quantity.Unit, like string) (out study.Reading, ok bool) {
	out, share, ok := p.readWithVoltage(want, instead, like)
	if share != nil {
		p.fail("without it", `"with v" goes with a current that was read one way`)
	}
	return out, ok
}

// readWithVoltage reads a reading, and what a current has that was logged together with the voltage.
func (p place) readWithVoltage(want, instead quantity.Unit, like string) (out study.Reading, share *quantity.Entry, ok bool) {
	value := p
	if p.n.kind == mapping {
		f, _ := p.fields(readingSection)
		if q, ok := f.get("with v"); ok {
			share = q.readShare()
		}
		if q, ok := f.get("from"); ok {
			out.From, _ = q.text("what it was taken from")
		}
		if q, ok := f.get("meter"); ok {
			out.Meter, _ = q.text("the name of a meter")
		}
		if q, ok := f.get("on"); ok {
			out.Range, _ = q.text("the name of a range")
		}
		if value, ok = f.need("read", like); !ok {
			return out, share, false
		}
	}
	text, ok := value.text(like)
	if !ok {
		return out, share, false
	}
	e, err := quantity.Parse(text, want, "")
	if err != nil && instead != quantity.None {
		if x, err2 := quantity.Parse(text, instead, ""); err2 == nil {
			e, err = x, nil
		}
	}
	if err != nil {
		value.failQuantity(text, want, like, err)
		return out, share, false
	}
	out.Entry = e
	return out, share, true
}
