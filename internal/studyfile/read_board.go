package studyfile

import (
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readBoard reads one board.
func (p place) readBoard() *study.Board {
	b := &study.Board{Name: p.key()}
	f, ok := p.fields(boardSection)
	if !ok {
		return b
	}
	b.Chip, b.Note = f.note("chip"), f.note("note")
	var defaults fields
	if d, ok := f.get("defaults"); ok {
		defaults, _ = d.fields(defaultsSection)
	}
	if rails, ok := f.get("rails"); ok {
		for _, p := range rails.named("rails by name") {
			b.Rails = append(b.Rails, p.readRail(defaults))
		}
	}
	if inputs, ok := f.get("inputs"); ok {
		for _, p := range inputs.named("inputs by name") {
			b.Inputs = append(b.Inputs, p.readRail(fields{}))
		}
	}
	return b
}

// readRail reads one rail or input. What it does not say is taken from the
// board's defaults.
func (p place) readRail(defaults fields) *study.Rail {
	rail := &study.Rail{Name: p.key()}
	f, ok := p.fields(railSection)
	if !ok {
		return rail
	}
	if q, ok := f.need("nominal", "1.8 V ±2 %"); ok {
		rail.Nominal, _ = q.entry(quantity.Volt, "1.8 V ±2 %")
	}
	bounded := f.written("not opened")
	keys := []string{"feed", "converter", "enters the chip"}
	if !bounded {
		keys = append(keys, "loop", "read by")
		if !f.written("tap") && !f.written("taps") {
			keys = append(keys, "tap")
		}
	}
	own := make(map[string]bool)
	for _, k := range keys {
		if own[k] = f.written(k); own[k] {
			continue
		}
		if d, ok := defaults.of[k]; ok {
			d.path = extend(p.path, k)
			f.of[k] = d
			p.r.index.set(d.path, d.n.spot)
		}
	}
	if q, ok := f.get("feed"); ok {
		rail.Feed, _ = choice(q, study.Feeds)
	}
	if q, ok := f.get("converter"); ok {
		rail.Converter, _ = choice(q, study.Converters)
	}
	if q, ok := f.get("enters the chip"); ok {
		if yes, ok := q.yes(); ok {
			rail.Aside = !yes
		}
	}
	rail.Note = f.note("note")
	rail.Bound = f.optional("not opened", quantity.Ampere, "0..25 mA")
	f.readTaps(rail, own["loop"])
	if q, ok := f.get("hangs on"); ok {
		rail.From = q.readSupply()
	}
	if q, ok := f.get("also feeds"); ok {
		for _, q := range q.named("each part and what it draws, as in {flash: 5..15 mA}") {
			o := &study.Other{Part: q.key()}
			o.Draws, _ = q.entry(quantity.Ampere, "5..15 mA")
			rail.Others = append(rail.Others, o)
		}
	}
	if q, ok := f.get("feeds"); ok {
		for _, q := range q.list("a list of rails, as in [core, link]") {
			if name, ok := q.text("the name of a rail"); ok {
				rail.Feeds = append(rail.Feeds, name)
			}
		}
	}
	rail.Efficiency = f.optional("efficiency", quantity.None, "80..92 %")
	if q, ok := f.get("opening"); ok {
		rail.Opening = q.readOpening()
	}
	rail.Checks = f.note("checks")
	return rail
}

// readSupply reads which rail feeds this one, and through what.
func (p place) readSupply() *study.Supply {
	f, ok := p.fields(supplySection)
	if !ok {
		return nil
	}
	s := &study.Supply{}
	if q, ok := f.need("rail", "the name of a rail of this board"); ok {
		s.Rail, _ = q.text("the name of a rail of this board")
	}
	if q, ok := f.need("through", "wire, linear regulator, converter"); ok {
		words := make([]string, len(study.Throughs))
		for i, t := range study.Throughs {
			words[i] = throughWord(t)
		}
		if w, ok := choice(q, words); ok {
			for _, t := range study.Throughs {
				if throughWord(t) == w {
					s.Through = t
				}
			}
		}
	}
	s.Efficiency = f.optional("efficiency", quantity.None, "82..92 %")
	s.Own = f.optional("own current", quantity.Ampere, "0..1 mA")
	return s
}

// throughWord is how the form writes what a rail hangs on another through.
func throughWord(t study.Through) string {
	if t == study.ThroughLinear {
		return "linear regulator"
	}
	return string(t)
}
