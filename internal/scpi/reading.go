package scpi

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The numbers that stand for no number (SCPI-1999 volume 1, 7.2.1.4 and 7.2.1.5
// as public parsers have them).
const (
	infinity    = 9.9e37
	notANumber  = 9.91e37
	closeEnough = 1e35
)

// MostReadings bounds how many readings one response may hold.
const MostReadings = 1 << 17

// Readings returns the readings of one response in order: finite values, ±Inf
// where the meter was beyond its range, NaN where it had none. more are words of
// this meter's own for an overload, compared without regard to case.
//
// Elements that carry a unit of time or a count ("+12.34SECS", "+00005RDNG#")
// decorate the reading before them and are passed over. An empty response, or an
// element that is no reading, is an error that quotes it.
func Readings(response string, more ...string) ([]float64, error) {
	text := strings.TrimSpace(response)
	if text == "" {
		return nil, fmt.Errorf("empty response; a number is accepted")
	}
	if n := strings.Count(text, ",") + 1; n > MostReadings {
		return nil, fmt.Errorf("%d readings in one response; up to %d are accepted", n, MostReadings)
	}
	var out []float64
	for i, element := range strings.Split(text, ",") {
		x, is, err := reading(strings.TrimSpace(element), more)
		if err != nil {
			return nil, fmt.Errorf("element %d: %w", i+1, err)
		}
		if is {
			out = append(out, x)
		} else if len(out) == 0 {
			return nil, fmt.Errorf("element %d, %s, comes before any reading", i+1, quoted(element))
		}
	}
	return out, nil
}

// reading reads one element; is is false for a decoration.
func reading(text string, more []string) (x float64, is bool, err error) {
	if v, ok := word(text, more); ok {
		return v, true, nil
	}
	n := numberLength(text)
	if n == 0 {
		return 0, false, fmt.Errorf("%s is no reading; a number as in -1.049E+00 is accepted", quoted(text))
	}
	x, err = strconv.ParseFloat(text[:n], 64)
	if err != nil && !math.IsInf(x, 0) {
		return 0, false, fmt.Errorf("%s is no reading", quoted(text))
	}
	unit := strings.ToUpper(strings.TrimSpace(text[n:]))
	switch {
	case decoration(unit):
		return 0, false, nil
	case !plainUnit(unit):
		return 0, false, fmt.Errorf("%s is no reading; a number with at most a unit behind it is accepted", quoted(text))
	}
	return special(x), true, nil
}

// special turns the numbers that stand for no number into what they mean. NaN
// is tested first, being the larger.
func special(x float64) float64 {
	switch {
	case math.Abs(x-notANumber) < closeEnough/2:
		return math.NaN()
	case x >= infinity-closeEnough/2:
		return math.Inf(1)
	case x <= -infinity+closeEnough/2:
		return math.Inf(-1)
	}
	return x
}

// overloads are words for a reading beyond the range, found on meters of many
// makes (common practice, no source).
func overloads() []string {
	return []string{"OL", "0L", "O.L", "0.L", "OVLD", "OVL", "OVER", "OVERLOAD", "OVERRANGE", "OVRNG", "OFL", "INF", "INFINITY"}
}

// nothings are words for no reading.
func nothings() []string { return []string{"NAN", "----", "---", "INVALID", "NONE"} }

// word reads a word in place of a number.
func word(text string, more []string) (float64, bool) {
	sign, bare := 1.0, strings.ToUpper(text)
	if bare == "NINF" {
		return math.Inf(-1), true
	}
	for _, w := range nothings() {
		if bare == w {
			return math.NaN(), true
		}
	}
	for _, w := range more {
		if w != "" && strings.EqualFold(text, w) {
			return math.Inf(1), true
		}
	}
	switch {
	case strings.HasPrefix(bare, "-"):
		sign, bare = -1, bare[1:]
	case strings.HasPrefix(bare, "+"):
		bare = bare[1:]
	}
	bare = strings.TrimSpace(bare)
	for _, w := range overloads() {
		if bare == w {
			return math.Inf(int(sign)), true
		}
	}
	for _, w := range more {
		if w != "" && strings.EqualFold(bare, w) {
			return math.Inf(int(sign)), true
		}
	}
	return 0, false
}

// numberLength is how much of text is a number in NR1, NR2 or NR3 form: sign,
// digits with a point, exponent. 0: none. The decimal mark is always a point.
func numberLength(text string) int {
	i, digits := 0, 0
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	for point := false; i < len(text); i++ {
		switch c := text[i]; {
		case c >= '0' && c <= '9':
			digits++
			continue
		case c == '.' && !point:
			point = true
			continue
		}
		break
	}
	if digits == 0 {
		return 0
	}
	j := i
	if j < len(text) && (text[j] == 'E' || text[j] == 'e') {
		j++
		if j < len(text) && (text[j] == '+' || text[j] == '-') {
			j++
		}
		from := j
		for j < len(text) && text[j] >= '0' && text[j] <= '9' {
			j++
		}
		if j > from {
			return j
		}
	}
	return i
}

// decoration tells that a number with this behind it is no reading of its own:
// a time stamp, a count, a channel (from memory: SENSe:FORMat:ELEMents).
func decoration(unit string) bool {
	switch unit {
	case "S", "SEC", "SECS", "RDNG#", "RDNG", "INTCHAN", "EXTCHAN", "#":
		return true
	}
	return false
}

// plainUnit tells that what stands behind a number is a unit or a flag that a
// meter appends, without prefix: a prefix would change the value and is refused.
func plainUnit(unit string) bool {
	switch unit {
	case "", "V", "VDC", "VAC", "A", "ADC", "AAC", "OHM", "C", "°C", "K", "F", "W", "N", "Z", "U":
		return true
	}
	return false
}

// quoted shows what came back, shortened.
func quoted(text string) string {
	const most = 40
	if len(text) > most {
		return fmt.Sprintf("%q and %d bytes more", text[:most], len(text)-most)
	}
	return fmt.Sprintf("%q", text)
}
