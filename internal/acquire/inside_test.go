package acquire

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestAddress(t *testing.T) {
	for text, want := range map[string]string{
		"192.0.2.7":                   "192.0.2.7:5025", // scpi-raw is registered as 5025
		"192.0.2.7:5555":              "192.0.2.7:5555",
		"tcp://meter.local/":          "meter.local:5025",
		"tcp:[2001:db8::1]:5024":      "[2001:db8::1]:5024",
		"serial:/dev/ttyUSB0":         "serial:/dev/ttyUSB0@9600",
		"serial:COM3@115200":          "serial:COM3@115200",
		"/dev/ttyACM1":                "serial:/dev/ttyACM1@9600",
		"usbtmc:/dev/usbtmc0":         "usbtmc:/dev/usbtmc0",
		"/dev/usbtmc3":                "usbtmc:/dev/usbtmc3",
		" localhost ":                 "localhost:5025",
		"serial:/dev/serial/by-id/x1": "serial:/dev/serial/by-id/x1@9600",
	} {
		a, err := ParseAddress(text)
		if err != nil || a.String() != want {
			t.Errorf("%q: %q, %v; want %q", text, a, err, want)
		}
	}
	for _, text := range []string{"", "serial:", "serial:COM1@x", "serial:@9600", "1.2.3.4:99999", "host:0", "http://x/y", "a b", "usbtmc:", "tcp:\x00"} {
		if a, err := ParseAddress(text); err == nil {
			t.Errorf("%q was taken as %s", text, a)
		}
	}
	for text, private := range map[string]bool{"127.0.0.1": true, "192.168.1.4": true, "8.8.8.8": false, "/dev/usbtmc0": true} {
		if a, _ := ParseAddress(text); a.Private() != private {
			t.Errorf("%s: private %v", text, a.Private())
		}
	}
}

func FuzzParseAddress(f *testing.F) {
	for _, s := range []string{"192.0.2.7:5025", "serial:/dev/ttyUSB0@9600", "usbtmc:/dev/usbtmc0", "tcp://[::1]:1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseAddress(text)
		if err != nil {
			return
		}
		if b, err := ParseAddress(a.String()); err != nil || a != b {
			t.Fatalf("%q is %+v, written %q, read again %+v, %v", text, a, a, b, err)
		}
	})
}

func FuzzSettings(f *testing.F) {
	f.Add([]byte(`{"format":"railtally meters 1","meters":[{"name":"a","address":"127.0.0.1:5025"}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		s, err := parseSettings(raw)
		if err != nil {
			return
		}
		for _, m := range s.Meters {
			if err := m.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// Readings handed over in lots by a meter with a timer of its own: however late
// the answers come, the times never decrease, stay behind the arrivals by no more
// than the lateness, and do not run away from a clock that goes a little slower.
func TestTimesFollowArrivals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n, step = 50.0, 0.001
		rate := rapid.Float64Range(0.9999, 1.0001).Draw(t, "rate")
		last, start := -step, 0.0
		for k := 1; k <= 400; k++ {
			delay := rapid.Float64Range(0, 0.02).Draw(t, "delay")
			due := float64(k) * n * step * rate // when the lot's last reading was taken
			told := due + delay - (n-1)*step
			if k == 1 {
				start = told
			} else {
				start = following(last, told, n, step)
			}
			if start <= last {
				t.Fatalf("lot %d begins at %g, the one before ended at %g", k, start, last)
			}
			last = start + (n-1)*step
			if off := last - due; off < -0.003 || off > 0.025 {
				t.Fatalf("lot %d: %g s off", k, off)
			}
		}
	})
	if got := following(10, 20, 50, 0.001); got != 20 {
		t.Errorf("after a gap the readings go on at %g, want 20", got)
	}
}

// box is a USBTMC device: each read gives the rest of a message, or fails.
type box struct {
	sent    bytes.Buffer
	answers []string
	fails   error
}

func (b *box) Write(p []byte) (int, error) { return b.sent.Write(p) }
func (b *box) Close() error                { return nil }
func (b *box) Read(p []byte) (int, error) {
	if b.fails != nil {
		return 0, b.fails
	}
	n := copy(p, b.answers[0])
	if b.answers[0] = b.answers[0][n:]; b.answers[0] == "" {
		b.answers = b.answers[1:]
	}
	return n, nil
}

// Reads of a device file end with the device's message, which may be longer than
// one read; after a failure the device is cleared.
func TestUSBTMC(t *testing.T) {
	cleared := 0
	long := strings.Repeat("+1.0E+00,", 20000) + "+1.0E+00\n"
	b := &box{answers: []string{"MADE UP,M,1,2\r\n", long}}
	u := &usbtmc{f: b, within: func(time.Duration) error { return nil }, clear: func() error { cleared++; return nil }}
	if err := u.Send("*IDN?", time.Second); err != nil || b.sent.String() != "*IDN?\n" {
		t.Errorf("%q, %v", b.sent.String(), err)
	}
	if got, err := u.Receive(time.Second); err != nil || got != "MADE UP,M,1,2" {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := u.Receive(time.Second); err != nil || got+"\n" != long {
		t.Errorf("%d bytes of %d, %v", len(got), len(long), err)
	}
	b.fails = io.ErrClosedPipe
	if _, err := u.Receive(time.Second); !errors.Is(err, io.ErrClosedPipe) || cleared != 1 {
		t.Errorf("%v, cleared %d times", err, cleared)
	}
}
