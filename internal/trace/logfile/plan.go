package logfile

import (
	"errors"
	"math"

	"railtally/internal/quantity"
)

// An action is what is done with a field of a row.
type action uint8

const (
	pass    action = iota
	value          // store in a channel
	seconds        // a number that is the time
	moment         // a text that is the time
	dateText1
	channelText
	unitText
)

// A field is what is done with one column.
type field struct {
	do     action
	slot   int  // channel of a value
	unit   unit // of a value, or of a time in numbers
	gain   float64
	direct bool // a plain number times a power of ten is the result
	byRow  int  // column that names the unit, −1 for none
	inCell bool // a unit may stand behind the number
}

// A plan is a profile made ready for rows.
type plan struct {
	fields   []field
	last     int // last field that matters
	delim    byte
	mark     byte
	group    string
	comment  []byte
	time     TimeSpec
	zone     int64 // seconds east of UTC
	layout   Layout
	channels []Channel // of Wide and Block
	valueCol int       // of Long
	base     int64     // seconds since 1970 of the day of a clock
	perRow   bool      // some unit changes by row
	origin   origin
}

// An origin is what absolute times are counted from: the time of the first row.
type origin struct {
	known bool
	sec   int64
	nsec  int64
	zone  bool    // the zone was given
	days  float64 // of Serial
}

// A Channel is one series of a log.
type Channel struct {
	Name   string        `json:"name"`
	Unit   quantity.Unit `json:"-"`
	Column int           `json:"column"` // of the table, from 0
}

// newPlan compiles a valid profile.
func newPlan(p *Profile) (*plan, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	pl := &plan{
		delim: p.Delimiter[0], mark: p.Decimal[0], group: p.Group, comment: []byte(p.Comment),
		time: p.Time, layout: p.Layout, fields: make([]field, len(p.Columns)),
	}
	var err error
	if pl.zone, err = zoneOffset(p.Time.Zone); err != nil {
		return nil, err
	}
	if p.Time.Date != "" {
		st, _ := parseStamp([]byte(p.Time.Date), YMD)
		pl.base = st.sec
	}
	if pl.time.Order == "" {
		pl.time.Order = YMD
	}
	for i, c := range p.Columns {
		f := &pl.fields[i]
		f.byRow, f.gain = -1, 1
		switch c.Role {
		case Value:
			if err := pl.valueField(f, c, i); err != nil {
				return nil, err
			}
		case Time:
			f.do = moment
			if k := p.Time.Kind; k == Elapsed || k == Epoch || k == Serial {
				f.do = seconds
				f.unit, _ = readUnit(p.Time.Unit)
				f.direct = k == Elapsed && f.unit.plain()
			}
		case Date:
			f.do = dateText1
		case ChannelName:
			f.do = channelText
		case UnitName:
			f.do = unitText
		}
		if f.do != pass {
			pl.last = i
		}
	}
	return pl, nil
}

func (pl *plan) valueField(f *field, c Column, i int) error {
	f.do = value
	f.unit, _ = readUnit(c.Unit)
	f.inCell = c.InValue
	if c.Gain != 0 {
		f.gain = c.Gain
	}
	f.byRow = c.UnitColumn - 1
	if f.byRow >= 0 {
		pl.perRow = true
	}
	if f.inCell { // the unit of a bare number is that of the kind
		f.unit.power, f.unit.factor, f.unit.offset = 0, 0, 0
	}
	f.direct = !f.inCell && f.byRow < 0 && f.unit.plain()
	pl.valueCol = i
	if pl.layout == Long {
		return nil
	}
	if pl.layout == Block && len(pl.channels) > 0 {
		return nil
	}
	ch := Channel{Name: c.Name, Unit: f.unit.si, Column: i}
	if c.As != "" {
		u, _ := readUnit(c.As)
		ch.Unit = u.si
	}
	f.slot = len(pl.channels)
	pl.channels = append(pl.channels, ch)
	return nil
}

var errNoTime = errors.New("no row has a time that reads as the profile says")

// read turns a cell into a value: NaN for a missing one, ±Inf for an overload.
func (pl *plan) read(cell []byte, f *field, u unit) (x float64, readable bool) {
	cell = unquote(cell)
	if len(cell) == 0 {
		return math.NaN(), true
	}
	n, ok := readNumeral(cell, pl.mark, pl.group)
	if ok && len(n.rest) > 0 {
		// A unit behind a number is believed also where the column has one, if it is of the same kind.
		w, known := readUnit(string(n.rest))
		if ok = known && w.si == u.si; ok {
			u = w
		}
	}
	if !ok {
		return markValue(readMark(string(cell)))
	}
	if raw, ok := n.value(0); !ok {
		return math.NaN(), false
	} else if m := sentinel(raw); m != notMark {
		return markValue(m)
	}
	x, ok = n.value(u.power)
	if !ok || x-x != 0 {
		return math.NaN(), false
	}
	return u.apply(x) * f.gain, true
}

func markValue(m mark) (float64, bool) {
	switch m {
	case over:
		return math.Inf(1), true
	case under:
		return math.Inf(-1), true
	case missing:
		return math.NaN(), true
	}
	return math.NaN(), false
}

// number reads a time that is a number, in seconds.
func (pl *plan) number(cell []byte, f *field) (float64, bool) {
	n, ok := readNumeral(unquote(cell), pl.mark, pl.group)
	if !ok || len(n.rest) > 0 {
		return 0, false
	}
	switch pl.time.Kind {
	case Epoch:
		st, ok := epochStamp(n, f.unit.power)
		if !ok {
			return 0, false
		}
		return pl.since(st), true
	case Serial:
		x, ok := n.value(0)
		if !ok || x-x != 0 {
			return 0, false
		}
		return (x - pl.origin.days) * 86400, true
	}
	x, ok := n.value(f.unit.power)
	if x = f.unit.apply(x); !ok || x-x != 0 {
		return 0, false
	}
	return x, true
}

// since returns the seconds from the origin to a stamp.
func (pl *plan) since(st stamp) float64 {
	return float64(st.sec-pl.origin.sec) + float64(st.nsec-pl.origin.nsec)/1e9
}

// epochStamp turns a numeral times 10^power seconds into a stamp, exact to the nanosecond.
func epochStamp(n numeral, power int) (stamp, bool) {
	var m int64
	scale := power + 9
	seen := false
	for i, c := range n.text {
		switch {
		case c == '-' && i == 0:
			return stamp{}, false
		case c == '.':
			seen = true
		case c-'0' <= 9:
			if m > (1<<62)/10 {
				return stamp{}, false
			}
			m = m*10 + int64(c-'0')
			if seen {
				scale--
			}
		default: // an exponent: digits were lost already
			x, ok := n.value(power)
			if !ok || x < 0 || x > 1e11 {
				return stamp{}, false
			}
			sec := math.Floor(x)
			return stamp{sec: int64(sec), nsec: int64((x - sec) * 1e9), date: true, clock: true, zone: true}, true
		}
	}
	for ; scale < 0; scale++ {
		m /= 10
	}
	for ; scale > 0; scale-- {
		if m > (1<<62)/10 {
			return stamp{}, false
		}
		m *= 10
	}
	return stamp{sec: m / 1e9, nsec: m % 1e9, date: true, clock: true, zone: true}, true
}

// moment reads a time that is a text, in seconds from the origin; date is the cell of a Date column or
// nil.
func (pl *plan) moment(cell, date []byte) (float64, bool) {
	st, ok := pl.stampOf(cell, date)
	if !ok {
		return 0, false
	}
	if pl.origin.known {
		return pl.since(st), true
	}
	return float64(st.sec) + float64(st.nsec)/1e9, true
}

func (pl *plan) stampOf(cell, date []byte) (stamp, bool) {
	st, ok := parseStamp(unquote(cell), pl.time.Order)
	if !ok {
		return st, false
	}
	switch pl.time.Kind {
	case DateTime:
		if !st.date {
			return st, false
		}
	case MinSec:
		if st.date || st.colons != 1 {
			return st, false
		}
		st.sec /= 60
	case Clock:
		if st.date {
			return st, false
		}
		if date != nil {
			day, ok := parseStamp(unquote(date), pl.time.Order)
			if !ok || !day.date || day.clock {
				return st, false
			}
			st.sec += day.sec
			st.date = true
		}
	}
	if !st.zone && st.date {
		st.sec -= pl.zone
	}
	return st, true
}
