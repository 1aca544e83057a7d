package acquire

import (
	"fmt"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/scpi"
)

// Meter is how one instrument is reached and asked.
type Meter struct {
	// Name is what the study calls the instrument.
	Name    string `json:"name"`
	Address string `json:"address"`
	// Query brings one or more readings in SI units; empty: READ?
	Query string `json:"query,omitempty"`
	// Unit is what it reads: V, A, °C or Ω; empty: V.
	Unit string `json:"unit,omitempty"`
	// Setup is sent once after connecting, line by line.
	Setup []string `json:"setup,omitempty"`
	// Prepare is sent before a reading is taken for a place of the plan, where a
	// scanner has to be switched. {what} becomes current, voltage, zero or
	// temperature, {of} the rail, instrument or point, {state} the state.
	Prepare string `json:"prepare,omitempty"`
	// Overload lists further words for a reading beyond the range.
	Overload []string `json:"overload,omitempty"`
	// Timeout in seconds for an answer; 0: five.
	Timeout float64 `json:"timeout,omitempty"`
	// Spacing in seconds between the readings of one response, for a meter that
	// hands over several at once; 0: evenly since the answer before.
	Spacing float64 `json:"spacing,omitempty"`
	// Pause in seconds between an answer and the next question.
	Pause float64 `json:"pause,omitempty"`
	// Sources allows commands by which the instrument puts something out.
	Sources bool `json:"sources,omitempty"`
}

// defaultTimeout is for a simple reading (common practice, no source); ten power
// line cycles with automatic zero take 0.4 s.
const defaultTimeout = 5 * time.Second

func (m *Meter) query() string {
	if m.Query == "" {
		return "READ?"
	}
	return m.Query
}

func (m *Meter) timeout() time.Duration {
	if m.Timeout <= 0 {
		return defaultTimeout
	}
	return seconds(m.Timeout)
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// Reads is the unit of the meter's readings.
func (m *Meter) Reads() quantity.Unit {
	for _, u := range units() {
		if m.Unit == u.Symbol() {
			return u
		}
	}
	return quantity.Volt
}

func units() []quantity.Unit {
	return []quantity.Unit{quantity.Volt, quantity.Ampere, quantity.Celsius, quantity.Ohm}
}

// Validate says what keeps the meter from being used, or nil.
func (m *Meter) Validate() error {
	wrong := func(format string, a ...any) error {
		return fmt.Errorf("meter %q: %s", m.Name, fmt.Sprintf(format, a...))
	}
	if strings.TrimSpace(m.Name) == "" {
		return wrong("it has no name; the name that the study gives the instrument is accepted")
	}
	if _, err := ParseAddress(m.Address); err != nil {
		return wrong("%v", err)
	}
	units, err := scpi.ParseMessage(m.query())
	if err != nil {
		return wrong("query %q: %v", m.query(), err)
	}
	if n := len(units); n == 0 || !units[n-1].Query {
		return wrong("query %q asks nothing; it has to end in a question as in READ?", m.query())
	}
	for _, line := range append([]string{m.query(), m.Prepare}, m.Setup...) {
		if strings.ContainsAny(line, "\n\r") {
			return wrong("%q holds more than one line", line)
		}
		if err := m.allowed(line); err != nil {
			return wrong("%v", err)
		}
	}
	if m.Unit != "" && m.Reads().Symbol() != m.Unit {
		return wrong("unit %q; V, A, °C and Ω are accepted", m.Unit)
	}
	for name, s := range map[string]float64{"timeout": m.Timeout, "spacing": m.Spacing, "pause": m.Pause} {
		if !(s >= 0 && s <= 600) {
			return wrong("%s of %g s; 0 to 600 s are accepted", name, s)
		}
	}
	return nil
}

// allowed refuses commands that put something out.
func (m *Meter) allowed(message string) error {
	if header, is := scpi.Sourcing(message); is && !m.Sources {
		return fmt.Errorf("%s is a command that may put out voltage or current, or open a current path: it is not sent unless the meter's settings allow it (sources)", header)
	}
	return nil
}

// Place is what a reading is taken for.
type Place struct{ What, Of, State string }

// prepared is the message to send before a take, "" for none.
func (m *Meter) prepared(p Place) string {
	quiet := func(s string) string { return strings.NewReplacer(`"`, "", "'", "", ";", "", "\n", "").Replace(s) }
	return strings.NewReplacer("{what}", quiet(p.What), "{of}", quiet(p.Of), "{state}", quiet(p.State)).Replace(m.Prepare)
}
