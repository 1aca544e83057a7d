package logfile

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"railtally/internal/quantity"
)

// A Layout is how values stand in the table.
type Layout string

// Layouts of a table.
const (
	Wide  Layout = "wide"  // one row per time, one column per channel
	Long  Layout = "long"  // one row per value, a column names the channel
	Block Layout = "block" // readings of one channel, row after row
)

// A Role is what a column is taken for.
type Role string

// Roles of columns.
const (
	Skip        Role = "skip"
	Value       Role = "value"
	Time        Role = "time"
	Date        Role = "date"    // the date whose time of day stands in the Time column
	Counter     Role = "counter" // numbers the rows
	ChannelName Role = "channel" // of a Long layout
	UnitName    Role = "unit"    // of the value column named by UnitColumn
)

// A Column is one column of the table.
type Column struct {
	Header string `json:"header,omitempty"` // as written
	Name   string `json:"name,omitempty"`
	Role   Role   `json:"role"`
	// Unit is what the numbers are written in, as in the file: "mV", "VDC", "" for none. With InValue
	// each cell has its own, and Unit says of what kind: "V".
	Unit    string `json:"unit,omitempty"`
	InValue bool   `json:"in_value,omitempty"`
	// UnitColumn is one more than the column that holds the unit of each row; 0 for none.
	UnitColumn int `json:"unit_column,omitempty"`
	// Gain, when not 0, multiplies the value in SI, and As is the unit it then has: 10 and "A" for a
	// clamp of 100 mV/A read in volts. It is never guessed.
	Gain float64 `json:"gain,omitempty"`
	As   string  `json:"as,omitempty"`
}

// A TimeKind is how the time of a row is written.
type TimeKind string

// Kinds of time.
const (
	NoTime   TimeKind = "none"     // rows are Interval seconds apart
	Elapsed  TimeKind = "elapsed"  // a number of Unit
	Epoch    TimeKind = "epoch"    // a number of Unit since 1970-01-01T00:00Z
	Serial   TimeKind = "serial"   // days as a spreadsheet counts them (1 is 1900-01-01)
	Clock    TimeKind = "clock"    // hh:mm:ss, past 24 h or over midnight
	MinSec   TimeKind = "min:sec"  // mm:ss
	DateTime TimeKind = "datetime" // date and time of day, in one column or two
)

// A TimeSpec says how times are read.
type TimeSpec struct {
	Kind  TimeKind `json:"kind"`
	Unit  string   `json:"unit,omitempty"`  // of Elapsed and Epoch: s, ms, us, ns, min, h
	Order string   `json:"order,omitempty"` // of numeric dates: YMD, DMY, MDY
	// Date is the day of a Clock that has none, "2026-03-05".
	Date string `json:"date,omitempty"`
	// Zone is the offset from UTC of times that give none, "+02:00" or "Z"; "" when not known.
	Zone     string  `json:"zone,omitempty"`
	Interval float64 `json:"interval_s,omitempty"` // of NoTime; 0 counts samples
}

// A Profile is how one kind of file is read. It is what detection proposes, what a person may change
// field by field, and what is kept for the next file with the same Fingerprint. Lines count from 1.
type Profile struct {
	Encoding  string   `json:"encoding"`
	Newline   string   `json:"newline"`
	Delimiter string   `json:"delimiter"` // "," ";" tab "|" or " " for any run of blanks
	Decimal   string   `json:"decimal"`   // "." or ","
	Group     string   `json:"group,omitempty"`
	Comment   string   `json:"comment,omitempty"` // what begins a line of comment
	Header    int      `json:"header_line,omitempty"`
	Units     int      `json:"units_line,omitempty"`
	FirstData int      `json:"first_data_line"`
	Layout    Layout   `json:"layout"`
	Time      TimeSpec `json:"time"`
	Columns   []Column `json:"columns"`
}

// Fingerprint identifies files of the same kind: the same layout, delimiter, marks and header,
// whatever their preamble and data.
func (p *Profile) Fingerprint() string {
	h := sha256.New()
	fmt.Fprintf(h, "%s|%s|%s|%s|%d", p.Layout, p.Delimiter, p.Decimal, p.Time.Kind, len(p.Columns))
	for _, c := range p.Columns {
		fmt.Fprintf(h, "|%s", strings.ToLower(strings.TrimSpace(c.Header)))
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// Adopt takes over what a person had settled for an earlier file of the same kind: names, roles, units
// and scales of the columns, and how times are to be understood. Where lines stand in the file and
// how bytes are coded stay as detected. It reports false, and changes nothing, when the fingerprints
// differ.
func (p *Profile) Adopt(remembered *Profile) bool {
	if p.Fingerprint() != remembered.Fingerprint() {
		return false
	}
	p.Columns = append([]Column(nil), remembered.Columns...)
	date := p.Time.Date
	p.Time = remembered.Time
	if date != "" {
		p.Time.Date = date // this file's own day
	}
	p.Group = remembered.Group
	return true
}

// Column returns the place of the first column with a role, −1 when there is none.
func (p *Profile) column(r Role) int {
	for i, c := range p.Columns {
		if c.Role == r {
			return i
		}
	}
	return -1
}

// Validate says what of a profile cannot be carried out.
func (p *Profile) Validate() error {
	if p.FirstData < 1 || p.Header < 0 || p.Units < 0 || p.Header >= p.FirstData || p.Units >= p.FirstData {
		return fmt.Errorf("profile: header line %d, units line %d, first data line %d: header and units stand before the data",
			p.Header, p.Units, p.FirstData)
	}
	if len(p.Delimiter) != 1 || strings.Contains("\n\r\"0123456789+-.", p.Delimiter) {
		return fmt.Errorf("profile: delimiter %q: one character is wanted, such as , ; | tab or blank", p.Delimiter)
	}
	if p.Decimal != "." && p.Decimal != "," {
		return fmt.Errorf("profile: decimal mark %q: accepted are . and ,", p.Decimal)
	}
	if p.Decimal == p.Delimiter && len(p.Columns) > 1 {
		return errors.New("profile: the comma can't both separate fields and mark decimals")
	}
	if p.Group != "" && p.Group == p.Decimal { // as the delimiter it may stand in quoted cells
		return fmt.Errorf("profile: thousands mark %q is also the decimal mark", p.Group)
	}
	if len(p.Columns) == 0 {
		return errors.New("profile: no columns")
	}
	count := map[Role]int{}
	for i, c := range p.Columns {
		count[c.Role]++
		if err := p.checkColumn(i, c); err != nil {
			return fmt.Errorf("profile: column %d: %w", i+1, err)
		}
	}
	for _, r := range []Role{Time, Date, ChannelName} {
		if count[r] > 1 {
			return fmt.Errorf("profile: %d columns are %s, one is possible", count[r], r)
		}
	}
	if count[Value] == 0 {
		return errors.New("profile: no column holds values")
	}
	switch p.Layout {
	case Wide, Block:
		if count[ChannelName] > 0 {
			return fmt.Errorf("profile: a channel column needs layout %s", Long)
		}
	case Long:
		if count[ChannelName] != 1 || count[Value] != 1 {
			return errors.New("profile: layout long needs one channel column and one value column")
		}
	default:
		return fmt.Errorf("profile: layout %q: accepted are %s, %s, %s", p.Layout, Wide, Long, Block)
	}
	return p.checkTime(count)
}

func (p *Profile) checkColumn(i int, c Column) error {
	switch c.Role {
	case Skip, Time, Date, Counter, ChannelName, UnitName:
		return nil
	case Value:
	default:
		return fmt.Errorf("role %q: accepted are value, time, date, counter, channel, unit, skip", c.Role)
	}
	if c.Unit != "" {
		if _, ok := readUnit(c.Unit); !ok {
			return fmt.Errorf("unit %q is not known", c.Unit)
		}
	}
	if c.UnitColumn < 0 || c.UnitColumn > len(p.Columns) || c.UnitColumn == i+1 {
		return fmt.Errorf("unit column %d of %d", c.UnitColumn, len(p.Columns))
	}
	if c.Gain-c.Gain != 0 {
		return errors.New("gain is not finite")
	}
	if c.Gain == 0 && c.As != "" {
		return errors.New("a unit after scaling is given, but no gain")
	}
	if c.As != "" {
		if u, ok := readUnit(c.As); !ok || u.power != 0 || !u.plain() {
			return fmt.Errorf("unit %q after scaling: an SI unit without prefix is wanted", c.As)
		}
	}
	return nil
}

func (p *Profile) checkTime(count map[Role]int) error {
	t := p.Time
	if (t.Kind == NoTime) != (count[Time] == 0) {
		return fmt.Errorf("profile: time is %q and %d columns are time", t.Kind, count[Time])
	}
	if p.Layout == Block && t.Kind != NoTime {
		return errors.New("profile: layout block has no time column")
	}
	switch t.Kind {
	case NoTime:
		if !(t.Interval >= 0) || t.Interval-t.Interval != 0 {
			return fmt.Errorf("profile: interval %g s", t.Interval)
		}
	case Elapsed, Epoch:
		if u, ok := readUnit(t.Unit); !ok || u.si != quantity.Second {
			return fmt.Errorf("profile: time unit %q: accepted are s, ms, us, ns, min, h", t.Unit)
		}
	case DateTime, Clock:
		switch t.Order {
		case YMD, DMY, MDY, "":
		default:
			return fmt.Errorf("profile: date order %q: accepted are %s, %s, %s", t.Order, YMD, DMY, MDY)
		}
	case Serial, MinSec:
	default:
		return fmt.Errorf("profile: time kind %q is not known", t.Kind)
	}
	if count[Date] > 0 && t.Kind != Clock {
		return errors.New("profile: a date column goes with a time of day")
	}
	if t.Date != "" {
		if st, ok := parseStamp([]byte(t.Date), YMD); !ok || !st.date || st.clock {
			return fmt.Errorf("profile: date %q: accepted is 2026-03-05", t.Date)
		}
	}
	if _, err := zoneOffset(t.Zone); err != nil {
		return err
	}
	return nil
}

// zoneOffset returns the seconds east of UTC of "Z", "+02:00", "".
func zoneOffset(zone string) (int64, error) {
	if zone == "" {
		return 0, nil
	}
	st, ok := parseStamp([]byte("1970-01-02T00:00:00"+zone), YMD)
	if !ok || !st.zone {
		return 0, fmt.Errorf("profile: zone %q: accepted are Z and +02:00", zone)
	}
	return 86400 - st.sec, nil
}
