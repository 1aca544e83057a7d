package acquire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"railtally/internal/scpi"
)

// Session is an open link to one meter.
type Session struct {
	m    *Meter
	link Link
}

// Open connects to a meter and sends its setup. A setup line that the meter
// refuses (its error queue says so) is an error.
func Open(ctx context.Context, m *Meter, dial Dialer) (*Session, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	a, err := ParseAddress(m.Address)
	if err != nil {
		return nil, err
	}
	link, err := dial(ctx, a)
	if err != nil {
		return nil, err
	}
	s := &Session{m, link}
	if len(m.Setup) == 0 {
		return s, nil
	}
	for _, line := range append([]string{"*CLS"}, m.Setup...) {
		if err := s.tell(line); err != nil {
			link.Close()
			return nil, err
		}
	}
	faults, err := s.Faults()
	if err == nil && len(faults) > 0 {
		err = fmt.Errorf("the setup was not accepted: %w (%s)", faults[0], faults[0].Class())
	}
	if err != nil {
		link.Close()
		return nil, err
	}
	return s, nil
}

// Close ends the link.
func (s *Session) Close() error { return s.link.Close() }

// tell sends a message; what it asks is read and thrown away, so that no answer
// is left to be taken for another's.
func (s *Session) tell(message string) error {
	if err := s.m.allowed(message); err != nil {
		return err
	}
	if err := s.link.Send(message, s.m.timeout()); err != nil {
		return err
	}
	if asks(message) {
		_, err := s.link.Receive(s.m.timeout())
		return err
	}
	return nil
}

func asks(message string) bool {
	units, err := scpi.ParseMessage(message)
	if err != nil {
		return strings.Contains(message, "?")
	}
	for _, u := range units {
		if u.Query {
			return true
		}
	}
	return false
}

// Ask sends a message and returns the answer to it, "" where it asks nothing.
func (s *Session) Ask(message string) (string, error) {
	if err := s.m.allowed(message); err != nil {
		return "", err
	}
	if err := s.link.Send(message, s.m.timeout()); err != nil {
		return "", err
	}
	if !asks(message) {
		return "", nil
	}
	return s.link.Receive(s.m.timeout())
}

// Identify asks who the meter is.
func (s *Session) Identify() (scpi.Ident, error) {
	text, err := s.Ask("*IDN?")
	if err != nil {
		return scpi.Ident{}, err
	}
	return scpi.ParseIdent(text)
}

// mostFaults bounds how often the error queue is asked: a broken one never ends.
const mostFaults = 50

// Faults empties the meter's error queue, oldest first.
func (s *Session) Faults() ([]scpi.Fault, error) {
	var out []scpi.Fault
	for range mostFaults {
		text, err := s.Ask("SYST:ERR?")
		if err != nil {
			return out, err
		}
		f, err := scpi.ParseFault(text)
		if err != nil || f.Code == 0 {
			return out, err
		}
		out = append(out, f)
	}
	return out, nil
}

// answer is what one question brought.
type answer struct {
	values         []float64
	asked, arrived time.Time
}

// errNonsense marks an answer that came whole and in step but is no reading: the
// link is still good.
var errNonsense = errors.New("not a reading")

// read asks for readings once.
func (s *Session) read() (answer, error) {
	a := answer{asked: time.Now()}
	if err := s.link.Send(s.m.query(), s.m.timeout()); err != nil {
		return a, err
	}
	text, err := s.link.Receive(s.m.timeout())
	a.arrived = time.Now()
	if err != nil {
		return a, err
	}
	// Answers of several queries are joined by semicolons; the last one reads.
	if i := strings.LastIndexByte(text, ';'); i >= 0 {
		text = text[i+1:]
	}
	if a.values, err = scpi.Readings(text, s.m.Overload...); err != nil {
		return a, fmt.Errorf("%w: %w", errNonsense, err)
	}
	return a, nil
}

// Why says in a tester's words what is wrong with a link.
func Why(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrLate):
		return "it does not answer in time"
	case errors.Is(err, scpi.ErrTooLong):
		return "it sends without end"
	case errors.Is(err, errNonsense):
		return "it answers nonsense"
	case errors.Is(err, io.ErrUnexpectedEOF):
		return "it broke off in the middle of an answer"
	case errors.Is(err, io.EOF):
		return "it closed the connection"
	}
	text := err.Error()
	switch {
	case strings.Contains(text, "connection refused"):
		return "nothing listens at its address"
	case strings.Contains(text, "connection reset"), strings.Contains(text, "broken pipe"):
		return "it closed the connection"
	case strings.Contains(text, "i/o timeout"), strings.Contains(text, "no route"):
		return "it cannot be reached"
	}
	return text
}
