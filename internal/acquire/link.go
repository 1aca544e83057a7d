package acquire

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"time"

	"railtally/internal/scpi"
)

// Link carries messages to a meter and responses back. It is used by one
// goroutine at a time.
type Link interface {
	// Send sends one message; the link ends it with a line feed.
	Send(message string, within time.Duration) error
	// Receive waits for one response, without its line feed.
	Receive(within time.Duration) (string, error)
	Close() error
}

// Dialer opens a link. Dial is the usual one.
type Dialer func(ctx context.Context, a Address) (Link, error)

// mostResponse bounds a response in bytes: a hundred thousand readings.
const mostResponse = 2 << 20

// dialTime is how long a meter may take to accept a connection (common
// practice, no source).
const dialTime = 3 * time.Second

// ErrLate says that no answer came in time.
var ErrLate = errors.New("no answer in time")

// Dial opens a link to an address.
func Dial(ctx context.Context, a Address) (Link, error) {
	switch a.Kind {
	case Serial:
		return dialSerial(a)
	case USBTMC:
		return dialUSBTMC(a)
	}
	d := net.Dialer{Timeout: dialTime, KeepAlive: 15 * time.Second}
	c, err := d.DialContext(ctx, "tcp", a.hostPort())
	if err != nil {
		return nil, err
	}
	return newStream(c, c.SetDeadline), nil
}

// stream is a link over bytes in order, where a line feed ends each message.
type stream struct {
	rw    io.ReadWriteCloser
	in    *bufio.Reader
	until func(time.Time) error
}

func newStream(rw io.ReadWriteCloser, until func(time.Time) error) *stream {
	return &stream{rw, bufio.NewReaderSize(rw, 64<<10), until}
}

func (s *stream) Send(message string, within time.Duration) error {
	// What still lies in the buffer answers no question of ours.
	if n := s.in.Buffered(); n > 0 {
		if _, err := s.in.Discard(n); err != nil {
			return err
		}
	}
	if err := s.until(time.Now().Add(within)); err != nil {
		return err
	}
	_, err := io.WriteString(s.rw, message+"\n")
	return late(err, within)
}

func (s *stream) Receive(within time.Duration) (string, error) {
	if err := s.until(time.Now().Add(within)); err != nil {
		return "", err
	}
	text, err := scpi.ReadResponse(s.in, mostResponse)
	return text, late(err, within)
}

func (s *stream) Close() error { return s.rw.Close() }

// late says a deadline that passed in words.
func late(err error, within time.Duration) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return fmt.Errorf("%w (%v)", ErrLate, within)
	}
	return err
}
