package notebook

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// Source says what a trace was recorded from.
type Source string

// The sources of traces.
const (
	FromLog    Source = "log"    // a file that a meter, logger or oscilloscope wrote
	FromMeters Source = "meters" // live
)

// TraceHead is what is known of a trace when it begins.
type TraceHead struct {
	Study  int64
	Source Source
	// File, Size and Start describe a log: its name without folders, its length in bytes and the
	// SHA-256 of its first 64 KiB, in hexadecimal. The SHA-256 of all of it is known at the end.
	File  string
	Size  int64
	Start string
	// Zero is what times count from; the zero time when only relative times are known. Without Zone
	// it is a clock on the wall, written as if it were UTC.
	Zero time.Time
	Zone bool
	// Settings is a JSON value: the profile of a log, the meters and queries of a live record.
	Settings string
}

// Channel is one series of a trace.
type Channel struct {
	Name string
	Unit quantity.Unit
	// Clock numbers the times that the channel was sampled at: channels of one clock were sampled
	// together. Both Clock and the channel's own place are counted from 0.
	Clock int
}

// Outcome says how a trace ended.
type Outcome string

// The outcomes of traces; one that still grows, or whose writer died, has none.
const (
	Complete  Outcome = "complete"
	Abandoned Outcome = "abandoned" // its samples were removed
)

// Trace is a logged time series in the notebook, without its samples.
type Trace struct {
	ID int64
	TraceHead
	Channels []Channel
	Samples  []int64 // of each channel
	Origin
	Accepted time.Time

	Outcome Outcome
	SHA256  string   // of the log, once complete
	Notes   []string // what a person should know of it

	Mapping Mapping // what holds now
}

// ChannelRole says what a channel is of the board.
type ChannelRole struct {
	Channel int  `json:"channel"`
	Is      Kind `json:"is"` // Current, Voltage, Temperature or Throughput
	// Rail and Tap, or Name of a temperature, as in an entry.
	Rail string `json:"rail,omitempty"`
	Tap  string `json:"tap,omitempty"`
	Name string `json:"name,omitempty"`
}

// String says it in words: "current of core a".
func (r ChannelRole) String() string {
	if r.Is == Throughput {
		return string(r.Is)
	}
	return string(r.Is) + " of " + joined(r.Rail+r.Name, r.Tap)
}

// Mapping is one row of a chain: what a trace is called and what its channels are.
type Mapping struct {
	Row
	Study int64
	Trace int64
	Name  string
	Note  string
	Roles []ChannelRole
	// Clocks says how other traces are brought to this one's clock.
	Clocks []Clock
}

// Role returns what a channel is; false when it is nothing of the board.
func (m *Mapping) Role(channel int) (ChannelRole, bool) {
	for _, r := range m.Roles {
		if r.Channel == channel {
			return r, true
		}
	}
	return ChannelRole{}, false
}

// TraceStats are the exact statistics of a channel between two times.
type TraceStats struct {
	trace.Moments
	From, To float64 // the times asked for
}
