package acquire

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"golang.org/x/sys/unix"
)

// The driver's requests (linux/usb/tmc.h: type 91, numbers 2 and 10).
const (
	usbtmcClear      = 0x5B02
	usbtmcSetTimeout = 0x40045B0A
)

func dialUSBTMC(a Address) (Link, error) {
	f, err := os.OpenFile(a.Path, os.O_RDWR, 0)
	if errors.Is(err, os.ErrPermission) {
		return nil, fmt.Errorf("%w: the device file belongs to root; a udev rule lets you use it (docs/meters.md)", err)
	}
	if err != nil {
		return nil, err
	}
	fd := int(f.Fd())
	return &usbtmc{f: f,
		within: func(d time.Duration) error {
			return unix.IoctlSetPointerInt(fd, usbtmcSetTimeout, int(max(d, 100*time.Millisecond)/time.Millisecond))
		},
		clear: func() error { return unix.IoctlSetInt(fd, usbtmcClear, 0) },
	}, nil
}

func timedOut(err error) bool {
	return errors.Is(err, unix.ETIMEDOUT) || errors.Is(err, os.ErrDeadlineExceeded)
}

// usbtmcFiles lists the device files of the driver.
func usbtmcFiles() []string {
	list, err := filepath.Glob("/dev/usbtmc*")
	if err != nil {
		return nil // the pattern is fixed and sound
	}
	slices.Sort(list)
	return list
}
