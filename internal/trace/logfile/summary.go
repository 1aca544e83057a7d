package logfile

import (
	"fmt"
	"math"
	"slices"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// Steps tell about the times between samples.
type Steps struct {
	Median      float64     `json:"median_s"`  // of the first 65,536 steps
	Largest     float64     `json:"largest_s"` // and the row that ends it
	LargestRow  int64       `json:"largest_row"`
	Duplicates  int64       `json:"duplicates"`
	Backward    int64       `json:"backward"`
	BackwardRow int64       `json:"backward_row,omitempty"` // the first row that is earlier than the one before
	BackwardBy  float64     `json:"backward_by_s,omitempty"`
	GapCount    int64       `json:"gap_count"`      // steps over three medians
	Gaps        []trace.Gap `json:"gaps,omitempty"` // the first hundred; Before counts rows from 1
}

// A Suspect is a value far out of line with the others near it: kept, but to be looked at.
type Suspect struct {
	Row   int64   `json:"row"`
	Value float64 `json:"value"` // SI
}

// A ChannelSummary is what is known of a channel after import.
type ChannelSummary struct {
	Channel
	trace.Moments
	First, Last float64 // times of its first and last sample
	Steps       Steps
	Suspects    []Suspect
}

// A Summary is what an import found.
type Summary struct {
	Channels []ChannelSummary
	Rows     int64 // of data
	Lines    int64 // looked at, from the first of the file
	Bytes    int64 // of data lines, as UTF-8
	// Start is what times count from, zero when only relative times are known. Without ZoneKnown it
	// is what the log's clock showed, written as if it were UTC.
	Start     time.Time
	ZoneKnown bool
	First     float64 // time of the first row of the file
	Last      float64 // and of the last
	Steps     Steps   // of all rows; of a Long log, see the channels

	Short      int // rows with too few fields
	Extra      int // rows with too many
	Unreadable int // cells that are neither a value nor a sign that there is none
	Skipped    int // lines left out
	Remarks    []Remark
	Cut        bool // the file ends within a line
	Notes      []string
}

// A stepper watches times go by.
type stepper struct {
	Steps
	last   float64
	n      int64
	sample []float64
	limit  float64 // of a gap; 0 while not known
	wrap   float64 // days of a clock that passed midnight, in seconds
	raw    float64
}

// midnight is how far back a clock must jump to have passed midnight, in seconds.
const midnight = 43200

// unwrap adds the days that a clock without a date passed.
func (s *stepper) unwrap(t []float64) {
	for i, x := range t {
		if s.n+int64(i) > 0 && x < s.raw-midnight {
			s.wrap += 86400
		}
		s.raw = x
		t[i] = x + s.wrap
	}
}

// watch takes in more times; row is the number of the first, from 1.
func (s *stepper) watch(t []float64, row int64) {
	if len(t) == 0 {
		return
	}
	if s.limit == 0 {
		s.learn(t)
	}
	last := s.last
	if s.n == 0 {
		last = t[0]
	}
	for i, x := range t {
		d := x - last
		if d > 0 && d <= s.limit && d <= s.Largest {
			last = x
			continue
		}
		if s.n+int64(i) > 0 {
			s.odd(d, last, x, row+int64(i))
		}
		last = x
	}
	s.last = last
	s.n += int64(len(t))
}

// odd counts a step that is none of the usual.
func (s *stepper) odd(d, from, to float64, row int64) {
	switch {
	case d == 0:
		s.Duplicates++
	case d < 0:
		if s.Backward++; s.Backward == 1 {
			s.BackwardRow = row
		}
		s.BackwardBy = max(s.BackwardBy, -d)
	}
	if d > s.Largest {
		s.Largest, s.LargestRow = d, row
	}
	if s.limit > 0 && d > s.limit {
		s.GapCount++
		if len(s.Gaps) < maxRemarks {
			s.Gaps = append(s.Gaps, trace.Gap{From: from, To: to, Before: int(row)})
		}
	}
}

// learn takes the median of the first steps.
func (s *stepper) learn(t []float64) {
	d := make([]float64, 0, min(len(t), 1<<16))
	for i := 1; i < len(t) && i <= 1<<16; i++ {
		d = append(d, t[i]-t[i-1])
	}
	if len(d) == 0 {
		return
	}
	slices.Sort(d)
	s.Median = d[len(d)/2]
	if n := len(d); n%2 == 0 {
		s.Median = d[n/2-1] + (d[n/2]-d[n/2-1])/2
	}
	s.limit = 3 * s.Median
}

// suspectFactor: a value over 100 times the root mean square of the others in its block is suspect;
// common practice, no source.
const suspectFactor = 100

// suspect finds a single value that dwarfs the others of its block.
func suspect(v []float64, m trace.Moments) (int, bool) {
	if m.N < 8 {
		return 0, false
	}
	top := max(math.Abs(m.Min), math.Abs(m.Max))
	mean := m.Mean()
	rest := m.SumHigh + float64(m.N)*mean*mean - top*top
	if top*top < suspectFactor*suspectFactor*max(rest, 0)/float64(m.N-1) || top == 0 {
		return 0, false
	}
	at, others := -1, 0.0
	for i, x := range v {
		switch {
		case x-x != 0:
		case math.Abs(x) == top && at < 0:
			at = i
		default:
			others += x * x
		}
	}
	return at, at >= 0 && top*top >= suspectFactor*suspectFactor*others/float64(m.N-1) && others > 0
}

// notes says in words what a person should know.
func (s *Summary) notes(p *Profile) {
	add := func(format string, args ...any) { s.Notes = append(s.Notes, fmt.Sprintf(format, args...)) }
	if s.Steps.Duplicates > 0 {
		add("%s with the time of the row before", count(s.Steps.Duplicates, "row"))
	}
	if s.Steps.Backward > 0 {
		add("%s back in time, first at row %d, by %.6g s at most", count(s.Steps.Backward, "step"), s.Steps.BackwardRow, s.Steps.BackwardBy)
	}
	for i, g := range s.Steps.Gaps {
		if i == 5 {
			add("%d gaps in all", s.Steps.GapCount)
			break
		}
		add("gap of %.6g s before row %d", g.To-g.From, g.Before)
	}
	switch p.Time.Kind {
	case DateTime, Serial:
		if !s.ZoneKnown {
			add("the time zone is not known")
		}
	case NoTime:
		if p.Time.Interval == 0 {
			add("no times: samples are counted, one a second")
		}
	}
	for _, c := range s.Channels {
		if k := c.Overloads(); k > 0 {
			add("%s: %s; the mean of the rest is biased", c.Name, count(k, "overload"))
		}
		if c.Missing > 0 {
			add("%s: %d missing", c.Name, c.Missing)
		}
		for _, x := range c.Suspects {
			add("%s: row %d, %s, is out of line with the rows near it", c.Name, x.Row, quantity.Format(x.Value, c.Unit, 4))
		}
		if c.Unit == quantity.Ampere && c.N > 0 && c.Mean() < 0 {
			add("%s: the mean current is negative: the direction of the probe, or its zero", c.Name)
		}
		if p.Layout == Long && c.Steps.Median > 0 {
			add("%s: %d values, one each %.4g s", c.Name, c.Samples(), c.Steps.Median)
		}
	}
	if s.Unreadable > 0 {
		add("%s could not be read: counted as missing", count(int64(s.Unreadable), "cell"))
	}
	if s.Skipped > 0 {
		add("%s left out", count(int64(s.Skipped), "line"))
	}
	if s.Cut {
		add("the file ends within a line")
	}
}

// count returns "1 row", "2 rows".
func count(n int64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
