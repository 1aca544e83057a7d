package logfile

import "strings"

// A mark is what a cell without a number says.
type mark int

const (
	notMark mark = iota
	missing
	over  // beyond the positive end of the range
	under // beyond the negative end
)

// readMark tells what a meter or a spreadsheet writes where there is no number. Overload is written
// in many ways; all of them, and only they, become an infinite value.
func readMark(cell string) mark {
	w := strings.TrimSpace(cell)
	if w == "" {
		return missing
	}
	neg := false
	body := w
	switch {
	case strings.HasPrefix(w, "-"):
		neg, body = true, strings.TrimSpace(w[1:])
	case strings.HasPrefix(w, "−"):
		neg, body = true, strings.TrimSpace(strings.TrimPrefix(w, "−"))
	case strings.HasPrefix(w, "+"):
		body = strings.TrimSpace(w[1:])
	}
	switch strings.ToUpper(body) {
	case "OL", "0L", "O.L", "O.L.", ".OL", "0.L", "OFL", "OVL", "OVLD", "OVER", "OVERLOAD", "OVERRANGE", "OVER RANGE", "OVERFLOW", "OVF",
		"INF", "INFINITY", "∞":
		if neg {
			return under
		}
		return over
	case "UNDERRANGE", "UNDERFLOW", "UNDER":
		return under
	case "N/A", "#N/A", "NA", "NAN", "NULL", "NONE", "NIL", "MISSING", "?", "#VALUE!", "#DIV/0!", "NO DATA", "INVALID", "ERROR", "ERR":
		return missing
	}
	if dashes := strings.Trim(w, "-–—_.*"); dashes == "" && w != "." {
		if len(w) >= 5 && strings.Trim(w, "-") == "" {
			return over // five dashes are a display without room for a number
		}
		return missing
	}
	return notMark
}

// Values that instruments send instead of a number: SCPI-1999 volume 1, 7.2.1.4 and 7.2.1.5 (from
// memory): infinity is 9.9E37, not a number is 9.91E37.
const (
	scpiInfinity = 9.9e37
	scpiNaN      = 9.91e37
)

// sentinel recognises a number that stands for none.
func sentinel(x float64) mark {
	switch {
	case x == scpiNaN || x == -scpiNaN:
		return missing
	case x >= scpiInfinity*(1-1e-9):
		return over
	case x <= -scpiInfinity*(1-1e-9):
		return under
	}
	return notMark
}
