package acquire

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// usbtmc is a link over a device file of Linux's usbtmc driver. The driver puts
// its twelve-byte header before each message and takes it off each answer, so
// only text passes here. One write is one message. A read asks the device for
// bytes and returns at the end of its message; asked without a question it
// would block and leave the device in need of a clear, so nothing is read that
// was not asked for (drivers/usb/class/usbtmc.c, as its public source says).
type usbtmc struct {
	f io.ReadWriteCloser
	// within sets the driver's timeout, clear aborts what is under way; both may
	// be nil where the driver cannot.
	within func(time.Duration) error
	clear  func() error
}

func (u *usbtmc) Send(message string, within time.Duration) error {
	if u.within != nil {
		if err := u.within(within); err != nil {
			return fmt.Errorf("set the timeout: %w", err)
		}
	}
	_, err := io.WriteString(u.f, message+"\n")
	return u.cleared(err, within)
}

func (u *usbtmc) Receive(within time.Duration) (string, error) {
	var out []byte
	buf := make([]byte, 64<<10)
	for {
		n, err := u.f.Read(buf)
		out = append(out, buf[:n]...)
		switch {
		case err != nil:
			return "", u.cleared(err, within)
		case len(out) > mostResponse:
			return "", u.cleared(fmt.Errorf("%d bytes without an end", len(out)), within)
		case n < len(buf): // the device ended its message
			return strings.TrimRight(string(out), "\r\n"), nil
		}
	}
}

func (u *usbtmc) Close() error { return u.f.Close() }

// cleared clears the device after a failure, so that the next question meets an
// empty buffer.
func (u *usbtmc) cleared(err error, within time.Duration) error {
	if err == nil {
		return nil
	}
	if timedOut(err) {
		err = fmt.Errorf("%w (%v)", ErrLate, within)
	}
	if u.clear != nil {
		err = errors.Join(err, u.clear())
	}
	return err
}
