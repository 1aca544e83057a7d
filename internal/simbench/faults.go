package simbench

import (
	"fmt"
	"strings"
)

// Fault is what ails a meter.
type Fault string

// The faults that a meter can be given.
const (
	None       Fault = "NONE"
	Disconnect Fault = "DISCONNECT" // the connection drops instead of an answer
	Gone       Fault = "GONE"       // as DISCONNECT, and no new connection is taken
	Garbage    Fault = "GARBAGE"    // bytes that are no answer
	Slow       Fault = "SLOW"       // the answer comes seconds late
	Overload   Fault = "OVERLOAD"   // every reading is beyond the range
	Half       Fault = "HALF"       // the answer breaks off in the middle, then the connection drops
	Flood      Fault = "FLOOD"      // bytes without end
)

func faults() []Fault {
	return []Fault{None, Disconnect, Gone, Garbage, Slow, Overload, Half, Flood}
}

// FaultNamed finds a fault by its name, in any case.
func FaultNamed(name string) (Fault, error) {
	for _, f := range faults() {
		if strings.EqualFold(string(f), name) {
			return f, nil
		}
	}
	return None, fmt.Errorf("no fault called %q; accepted are %v", name, faults())
}

// Ail gives a meter a fault for so many answers, for all when times is 0.
func (b *Bench) Ail(meterName string, f Fault, times int) error {
	m := b.meterNamed(meterName)
	if m == nil {
		return fmt.Errorf("no meter called %q", meterName)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ailment, m.times = f, times
	if times <= 0 {
		m.times = -1
	}
	return nil
}

// ails takes the fault for one answer.
func (m *meter) ails() Fault {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.ailment == "" || m.ailment == None || m.times == 0 {
		return None
	}
	if m.times > 0 {
		m.times--
	}
	return m.ailment
}

// gone tells that the meter takes no connection.
func (m *meter) gone() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.ailment == Gone && m.times != 0
}
