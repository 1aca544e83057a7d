//go:build !linux

package acquire

import (
	"errors"
	"fmt"
	"os"
)

func dialUSBTMC(a Address) (Link, error) {
	return nil, fmt.Errorf("%s: USBTMC device files are Linux's; on this system reach the meter over TCP or a serial port", a.Path)
}

func timedOut(err error) bool { return errors.Is(err, os.ErrDeadlineExceeded) }

func usbtmcFiles() []string { return nil }
