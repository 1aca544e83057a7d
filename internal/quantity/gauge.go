package quantity

import (
	"strconv"
	"strings"
)

const gaugeForms = "AWG 18; AWG 0000 (or 4/0) to AWG 40"

// awg takes the letters AWG, also where the number follows at once: AWG18.
func (s *scanner) awg() bool {
	if len(s.rest()) < 3 || !strings.EqualFold(s.rest()[:3], "awg") {
		return false
	}
	s.pos += 3
	return true
}

// gaugeBeforeName reports whether digits and AWG stand here: 18 AWG, 4/0 AWG.
func (s *scanner) gaugeBeforeName() bool {
	if s.digits() == "" {
		return false
	}
	s.lit("/0")
	s.space()
	return s.awg()
}

// gauge reads the number of a gauge, and the name behind it where it did not stand before.
func (p *wireParser) gauge(at int) error {
	start := p.pos
	digits := p.digits()
	_, ought := p.lit("/0")
	r := p.peek()
	if digits == "" || r == '.' || r == ',' && len(p.rest()) > 1 && isDigit(rune(p.rest()[1])) {
		return p.fail(start, gaugeForms, "a whole number is wanted for the gauge")
	}
	if at == start {
		p.space()
		p.awg()
	}
	g, err := gaugeNumber(digits, ought)
	switch {
	case !err || g < minGauge || g > maxGauge:
		return p.fail(start, gaugeForms, "a gauge outside 0000 to 40")
	case p.wire.Area != 0:
		return p.fail(at, wireForms, "a second section")
	}
	p.wire.HasGauge, p.wire.Gauge, p.wire.Area = true, g, GaugeArea(g)
	return nil
}

// gaugeNumber turns "18", "000" or the 3 of "3/0" into a gauge, 000 being -2.
func gaugeNumber(digits string, ought bool) (int, bool) {
	if strings.Trim(digits, "0") == "" && !ought {
		return 1 - len(digits), true
	}
	n, err := strconv.Atoi(digits)
	if err != nil {
		return 0, false
	}
	if ought {
		return 1 - n, n >= 1
	}
	return n, digits[0] != '0'
}

// gaugeText writes a gauge: AWG 18, AWG 0000.
func gaugeText(gauge int) string {
	if gauge <= 0 {
		return "AWG " + strings.Repeat("0", 1-gauge)
	}
	return "AWG " + strconv.Itoa(gauge)
}
