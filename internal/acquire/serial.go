package acquire

import (
	"fmt"
	"os"
	"time"

	"go.bug.st/serial"
)

// dialSerial opens a serial port with DTR and RTS on, which many meters want.
func dialSerial(a Address) (Link, error) {
	p, err := serial.Open(a.Path, &serial.Mode{BaudRate: a.Baud})
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", a.Path, err)
	}
	if err := p.ResetInputBuffer(); err != nil {
		p.Close()
		return nil, fmt.Errorf("open %s: %w", a.Path, err)
	}
	s := &serialPort{Port: p}
	return newStream(s, s.setDeadline), nil
}

// serialPort gives a serial port the deadline that a socket has.
type serialPort struct {
	serial.Port
	deadline time.Time
}

func (s *serialPort) setDeadline(t time.Time) error {
	s.deadline = t
	return nil
}

// Read returns what came before the deadline. The library says with no bytes
// and no error that its own time was up.
func (s *serialPort) Read(p []byte) (int, error) {
	left := time.Until(s.deadline)
	if left <= 0 {
		return 0, os.ErrDeadlineExceeded
	}
	if err := s.Port.SetReadTimeout(max(left, time.Millisecond)); err != nil {
		return 0, err
	}
	n, err := s.Port.Read(p)
	if n == 0 && err == nil {
		return 0, os.ErrDeadlineExceeded
	}
	return n, err
}

// serialPorts lists the serial ports of this computer.
func serialPorts() []string {
	list, err := serial.GetPortsList()
	if err != nil {
		return nil // no list is as good as an empty one: ports can be named
	}
	return list
}
