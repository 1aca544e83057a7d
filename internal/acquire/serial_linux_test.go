package acquire

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// A pseudo-terminal stands in for a serial port: what is on its other side
// answers as a hand-held meter does, with CR LF.
func TestSerialPort(t *testing.T) {
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer master.Close()
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		in := bufio.NewScanner(master)
		for in.Scan() {
			if in.Text() == "READ?" {
				fmt.Fprint(master, "+1.2345E")
				fmt.Fprint(master, "+00\r\n")
			}
		}
	}()
	m := Meter{Name: "m", Address: fmt.Sprintf("serial:/dev/pts/%d@115200", n), Timeout: 0.3}
	s, err := Open(t.Context(), &m, Dial)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if got, err := s.read(); err != nil || len(got.values) != 1 || got.values[0] != 1.2345 {
		t.Errorf("%v, %v", got.values, err)
	}
	m.Timeout = 0.05
	began := time.Now()
	if _, err := s.Ask("*IDN?"); !errors.Is(err, ErrLate) {
		t.Errorf("a silent meter: %v after %v", err, time.Since(began))
	}
}
