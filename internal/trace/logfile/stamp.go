package logfile

// Orders of day, month and year in a date.
const (
	YMD = "YMD"
	DMY = "DMY"
	MDY = "MDY"
)

// A stamp is a date and time of day as written: seconds since 1970-01-01 00:00 by the clock of the
// log, and the zone if the text gave one.
type stamp struct {
	sec      int64 // since 1970-01-01T00:00 by the written clock, less the zone if there was one
	nsec     int64 // 0 … 999 999 999
	date     bool  // a date was given; without one sec is the time of day
	clock    bool  // a time of day was given
	zone     bool  // Z or an offset was given
	ampm     bool
	colons   int    // in the time of day
	a, b, c  int    // the three groups of the date as written
	sep      byte   // between them
	yearDig  int    // digits of the first group
	fraction bool   // of a second
	hours    int    // hours as written
	months   string // "" or the name of the month as written
}

// parseStamp reads a date, a time of day, or both, from all of s. The order applies to numeric dates
// that do not begin with four digits.
func parseStamp(s []byte, order string) (stamp, bool) {
	var st stamp
	p := scanner{s: s}
	p.space()
	if p.dateAhead() {
		if !p.date(&st, order) {
			return st, false
		}
		st.date = true
		switch {
		case p.done():
			return st, true
		case p.take('T') || p.take('t') || p.take('_') || p.take(','):
			p.space()
		case !p.space():
			return st, false
		}
		if p.done() {
			return st, true
		}
	}
	if !p.clock(&st) {
		return st, false
	}
	st.clock = true
	if !p.zone(&st) {
		return st, false
	}
	p.space()
	return st, p.done()
}

// scanner walks over the text of a stamp.
type scanner struct {
	s []byte
	i int
}

func (p *scanner) done() bool { return p.i >= len(p.s) }

func (p *scanner) peek() byte {
	if p.i < len(p.s) {
		return p.s[p.i]
	}
	return 0
}

func (p *scanner) take(c byte) bool {
	if p.peek() == c && p.i < len(p.s) {
		p.i++
		return true
	}
	return false
}

// space skips blanks, the no-break space and its narrow form included, and reports whether there were
// any.
func (p *scanner) space() bool {
	from := p.i
	for p.i < len(p.s) {
		switch c := p.s[p.i]; {
		case c == ' ' || c == '\t' || c == '\r':
			p.i++
		case c == 0xC2 && p.i+1 < len(p.s) && p.s[p.i+1] == 0xA0:
			p.i += 2
		case c == 0xE2 && p.i+2 < len(p.s) && p.s[p.i+1] == 0x80 && p.s[p.i+2] == 0xAF:
			p.i += 3
		default:
			return p.i > from
		}
	}
	return p.i > from
}

// number reads up to 9 digits.
func (p *scanner) number() (n, digits int) {
	for p.i < len(p.s) && digits < 9 {
		d := p.s[p.i] - '0'
		if d > 9 {
			break
		}
		n = n*10 + int(d)
		digits++
		p.i++
	}
	return n, digits
}

// word reads letters, those beyond ASCII included.
func (p *scanner) word() string {
	from := p.i
	for p.i < len(p.s) {
		c := p.s[p.i]
		if c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 {
			p.i++
			continue
		}
		break
	}
	return string(p.s[from:p.i])
}

// dateAhead reports whether a date begins here rather than a time of day.
func (p *scanner) dateAhead() bool {
	i := p.i
	digits := 0
	for i < len(p.s) && p.s[i]-'0' <= 9 {
		i++
		digits++
	}
	if digits == 0 {
		c := p.peek() | 0x20
		return c >= 'a' && c <= 'z'
	}
	if i >= len(p.s) {
		return digits == 8
	}
	c := p.s[i]
	return digits == 8 || c == '-' || c == '/' || c == '.' || c == ' ' && i+1 < len(p.s) && p.s[i+1]|0x20 >= 'a'
}

// date reads the three groups of a date.
func (p *scanner) date(st *stamp, order string) bool {
	var n [3]int
	from := p.i
	for k := range n {
		if k > 0 {
			sep := p.peek()
			switch sep {
			case '-', '/', '.', ' ', ',':
				p.i++
				p.space()
			default:
				return false
			}
			if k == 1 {
				st.sep = sep
			}
		}
		if c := p.peek() | 0x20; st.months == "" && c >= 'a' && c <= 'z' {
			st.months = p.word()
			p.take('.')
			if n[k] = monthNumber(st.months); n[k] == 0 {
				return false
			}
			if k == 0 {
				order = MDY
			} else if k == 1 && st.yearDig < 4 {
				order = DMY
			}
			continue
		}
		var digits int
		if n[k], digits = p.number(); digits == 0 {
			return false
		}
		if k == 0 {
			st.yearDig = digits
			if digits == 8 { // 20260305
				st.a, st.b, st.c = n[0]/10000, n[0]/100%100, n[0]%100
				return st.setDate(YMD)
			}
		}
		if digits > 4 {
			p.i = from
			return false
		}
	}
	st.a, st.b, st.c = n[0], n[1], n[2]
	if st.yearDig == 4 {
		order = YMD
	}
	return st.setDate(order)
}

// setDate turns the three groups into days.
func (st *stamp) setDate(order string) bool {
	y, m, d := st.a, st.b, st.c
	switch order {
	case DMY:
		y, m, d = st.c, st.b, st.a
	case MDY:
		y, m, d = st.c, st.a, st.b
	}
	if y < 100 {
		y += 2000
	}
	if y < 1900 || y > 2200 || m < 1 || m > 12 || d < 1 || d > monthDays(y, m) {
		return false
	}
	st.sec = int64(civilDays(y, m, d)) * 86400
	return true
}

func monthDays(y, m int) int {
	switch m {
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// civilDays returns the days from 1970-01-01 to a date of the Gregorian calendar (Hinnant's algorithm,
// from memory; checked against package time).
func civilDays(y, m, d int) int {
	if m <= 2 {
		y--
		m += 12
	}
	era := y / 400
	yoe := y - era*400
	doy := (153*(m-3)+2)/5 + d - 1
	doe := yoe*365 + yoe/4 - yoe/100 + doy
	return era*146097 + doe - 719468
}

// clock reads h:mm[:ss[.fff]] with optional AM or PM, or hhmmss behind a compact date.
func (p *scanner) clock(st *stamp) bool {
	neg := p.take('-')
	h, digits := p.number()
	if digits == 0 {
		return false
	}
	var m, s int
	if digits == 6 && st.date {
		h, m, s = h/10000, h/100%100, h%100
		st.colons = 2
	} else {
		if !p.take(':') {
			return false
		}
		st.colons = 1
		if m, digits = p.number(); digits != 2 || m > 59 {
			return false
		}
		if p.take(':') {
			st.colons = 2
			if s, digits = p.number(); digits != 2 {
				return false
			}
		}
	}
	if s > 60 || m > 59 {
		return false
	}
	if c := p.peek(); c == '.' || c == ',' || c == ':' && st.colons == 2 {
		p.i++
		n, digits := p.number()
		if digits == 0 {
			return false
		}
		for ; digits < 9; digits++ {
			n *= 10
		}
		for d := p.peek() - '0'; d <= 9; d = p.peek() - '0' { // finer than a nanosecond
			p.i++
		}
		st.nsec = int64(n)
		st.fraction = true
	}
	st.hours = h
	if !p.meridiem(st, &h) {
		return false
	}
	if st.date && h > 24 {
		return false
	}
	t := int64(h)*3600 + int64(m)*60 + int64(s)
	if neg {
		if st.date || st.ampm {
			return false
		}
		t = -t
		if st.nsec > 0 {
			t, st.nsec = t-1, 1e9-st.nsec
		}
	}
	st.sec += t
	return true
}

// meridiem reads AM or PM: 12 AM is midnight, 12 PM is noon.
func (p *scanner) meridiem(st *stamp, h *int) bool {
	at := p.i
	p.space()
	c := p.peek() | 0x20
	if c != 'a' && c != 'p' {
		p.i = at
		return true
	}
	p.i++
	p.take('.')
	if !p.take('m') && !p.take('M') {
		return false
	}
	p.take('.')
	if *h < 1 || *h > 12 {
		return false
	}
	st.ampm = true
	*h %= 12
	if c == 'p' {
		*h += 12
	}
	return true
}

// zone reads Z, UTC, GMT, ±hh, ±hhmm or ±hh:mm.
func (p *scanner) zone(st *stamp) bool {
	at := p.i
	p.space()
	switch c := p.peek(); {
	case c == 'Z' || c == 'z':
		p.i++
		st.zone = true
	case c == 'U' || c == 'G':
		if w := p.word(); w != "UTC" && w != "GMT" {
			return false
		}
		st.zone = true
	case (c == '+' || c == '-') && st.date:
		p.i++
		h, digits := p.number()
		m := 0
		switch {
		case digits == 4:
			h, m = h/100, h%100
		case digits == 2 && p.take(':'):
			if m, digits = p.number(); digits != 2 {
				return false
			}
		case digits != 2 && digits != 1:
			return false
		}
		if h > 14 || m > 59 {
			return false
		}
		off := int64(h*3600 + m*60)
		if c == '-' {
			off = -off
		}
		st.sec -= off
		st.zone = true
	default:
		p.i = at
	}
	return true
}
