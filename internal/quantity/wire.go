package quantity

import "math"

const wireForms = "60 mm AWG 18; 0.5 mm² 80 mm copper; 12 mΩ ±10 %"

// Wire is the piece of copper wire that a rail was opened with: its size, or its resistance where
// that was measured, or both.
type Wire struct {
	Length     float64 // m; 0 where only the resistance is known
	HasGauge   bool    // whether the section was written as a gauge
	Gauge      int     // American wire gauge, -3 (0000) to 40
	Area       float64 // m² of copper, computed from the gauge where one was written; 0 where only the resistance is known
	Resistance *Entry  // measured, in Ω; nil where none was written
}

// smallest and largest gauge that is read; 0000 counts as -3.
const (
	minGauge = -3
	maxGauge = 40
)

// GaugeArea returns the area in m² of a solid wire of an American gauge:
// d = 0.127 mm · 92^((36−n)/39), which puts 0.005 in at 36 and 0.46 in at 0000 (ASTM B258, from
// memory). Handbooks that round the diameter to 0.1 mil differ by up to 3 % in area above 32.
func GaugeArea(gauge int) float64 {
	d := 0.127e-3 * math.Pow(92, float64(36-gauge)/39)
	return math.Pi / 4 * d * d
}

// ParseWire reads a wire: its length with a gauge or an area in any order, a resistance, or both.
// The error is an *Error.
func ParseWire(text string) (Wire, error) {
	s, err := newScanner(text, maxLine, wireForms)
	if err != nil {
		return Wire{}, err
	}
	p := &wireParser{scanner: s}
	for {
		if err := p.item(); err != nil {
			return Wire{}, err
		}
		p.space()
		p.lit(",", ";")
		p.space()
		for p.filler() {
			p.space()
			p.lit(",", ";")
			p.space()
		}
		if p.done() {
			break
		}
	}
	w := p.wire
	switch {
	case w.Length > 0 && w.Area == 0 && w.Resistance == nil:
		return Wire{}, p.fail(len(text), wireForms, "the gauge or area is missing")
	case w.Length > 0 && w.Area == 0, w.Length == 0 && w.Area > 0:
		return Wire{}, p.fail(len(text), wireForms, "length and section go together: one of them is missing")
	}
	return w, nil
}

// wireParser gathers the parts of a wire.
type wireParser struct {
	*scanner
	wire Wire
}

// filler takes a word that says nothing new. Copper is the only metal whose resistance is known
// here, so another metal is refused as an unexpected word.
func (p *wireParser) filler() bool {
	_, ok := p.word("copper", "cu", "wire", "of", "long", "solid")
	return ok
}

// item reads a length, a section or a resistance.
func (p *wireParser) item() error {
	at := p.pos
	for p.filler() {
		p.space()
	}
	if t := *p.scanner; t.awg() {
		p.awg()
		p.space()
		return p.gauge(at)
	}
	if isSigned(p.rest()) {
		return p.fail(at, wireForms, "nothing of a wire is negative")
	}
	// A gauge of zeros, "0000 AWG" or "4/0 AWG", is no plain number.
	if t := *p.scanner; t.gaugeBeforeName() {
		return p.gauge(at)
	}
	n, err := p.number(false)
	if err != nil {
		return err
	}
	m, err := p.measure(Metre, false)
	if err != nil {
		return err
	}
	if m == nil {
		if t := *p.scanner; t.space() && t.plusMinus() { // "12 ± 1 mΩ"
			return p.resistance(n, nil)
		}
		return p.fail(n.end, wireForms, "a unit or AWG is missing")
	}
	switch m.unit {
	case Metre:
		return p.put(&p.wire.Length, n, *m, Metre)
	case SquareMetre:
		return p.put(&p.wire.Area, n, *m, SquareMetre)
	case Ohm:
		return p.resistance(n, m)
	}
	return p.fail(n.start, wireForms, "%s is no property of a wire", withArticle(m.unit.String()))
}

// put stores a length or area that is above zero and not there yet.
func (p *wireParser) put(field *float64, n number, m measure, unit Unit) error {
	a, err := p.convert(n, m, unit, true)
	switch {
	case err != nil:
		return err
	case a.value.Sign() <= 0:
		return p.fail(n.start, wireForms, "%s above zero is wanted here", withArticle(unit.String()))
	case *field != 0:
		return p.fail(n.start, wireForms, "a second %s", unit)
	}
	*field = a.float()
	return nil
}

// resistance reads the tolerance behind a resistance.
func (p *wireParser) resistance(n number, m *measure) error {
	if p.wire.Resistance != nil {
		return p.fail(n.start, wireForms, "a second resistance")
	}
	e := &entryParser{scanner: p.scanner, want: Ohm}
	p.space()
	v := term{n, m}
	entry, ok, err := e.withTolerance(v)
	if err == nil && !ok {
		entry, err = e.single(v)
	}
	if err != nil {
		return err
	}
	if entry.Values[0] <= 0 {
		return p.fail(n.start, wireForms, "a resistance above zero is wanted here")
	}
	entry.Unit, entry.Text = Ohm, p.text[n.start:p.pos]
	p.wire.Resistance = &entry
	return nil
}

// String writes the wire so that ParseWire reads the same from it.
func (w Wire) String() string {
	text := ""
	if w.Length > 0 {
		text = shortest(w.Length, Metre)
		if w.HasGauge {
			text += " " + gaugeText(w.Gauge)
		} else {
			text += " " + shortest(w.Area, SquareMetre)
		}
	}
	switch {
	case w.Resistance == nil:
		return text
	case text == "":
		return w.Resistance.String()
	}
	return text + ", " + w.Resistance.String()
}
