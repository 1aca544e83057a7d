package acquire

import (
	"fmt"
	"net"
	"strconv"
	"strings"
)

// Kind is how a meter is reached.
type Kind string

// The kinds of link.
const (
	TCP    Kind = "tcp"    // a raw socket that carries lines
	Serial Kind = "serial" // a serial port, 8 data bits, no parity, one stop bit
	USBTMC Kind = "usbtmc" // a device file of Linux's usbtmc driver
)

// Address is where a meter is.
type Address struct {
	Kind Kind
	Host string // of TCP
	Port int    // of TCP
	Path string // of the port or device file
	Baud int    // of Serial
}

// The defaults of an address: 5025 is the registered port scpi-raw; 9600 is the
// rate most meters leave the factory with (common practice, no source).
const (
	rawPort     = 5025
	defaultBaud = 9600
)

const addressForms = "192.0.2.7:5025, serial:/dev/ttyUSB0@9600, serial:COM3, usbtmc:/dev/usbtmc0"

// ParseAddress reads an address as a person writes it. What begins with neither
// "serial:" nor "usbtmc:" is a host with perhaps a port, after "tcp:" or "tcp://"
// or nothing.
func ParseAddress(text string) (Address, error) {
	text = strings.TrimSpace(text)
	wrong := func(what string) (Address, error) {
		return Address{}, fmt.Errorf("address %q: %s; accepted are %s", text, what, addressForms)
	}
	kind, rest := TCP, text
	for _, k := range []Kind{Serial, USBTMC, TCP} {
		if r, ok := strings.CutPrefix(text, string(k)+":"); ok {
			kind, rest = k, r
			break
		}
	}
	switch {
	case kind == TCP && strings.HasPrefix(text, "/dev/usbtmc"):
		kind = USBTMC
	case kind == TCP && strings.HasPrefix(text, "/dev/"):
		kind = Serial
	}
	if rest == "" || strings.ContainsFunc(rest, func(r rune) bool { return r < ' ' || r == 0x7f }) {
		return wrong("nothing is named")
	}
	switch kind {
	case USBTMC:
		return Address{Kind: USBTMC, Path: rest}, nil
	case Serial:
		path, rate, given := strings.Cut(rest, "@")
		a := Address{Kind: Serial, Path: path, Baud: defaultBaud}
		if given {
			n, err := strconv.Atoi(rate)
			if err != nil || n < 50 || n > 4_000_000 {
				return wrong("the rate behind @ is no number of baud")
			}
			a.Baud = n
		}
		if path == "" {
			return wrong("no port is named")
		}
		return a, nil
	}
	rest = strings.TrimSuffix(strings.TrimPrefix(rest, "//"), "/")
	host, port, err := net.SplitHostPort(rest)
	if err != nil {
		host, port = strings.Trim(rest, "[]"), strconv.Itoa(rawPort)
	}
	n, err := strconv.Atoi(port)
	if err != nil || n < 1 || n > 65535 || host == "" || strings.ContainsAny(host, " /?#@[]%") {
		return wrong("no host, or no port from 1 to 65535")
	}
	return Address{Kind: TCP, Host: host, Port: n}, nil
}

// String writes the address so that ParseAddress reads the same from it.
func (a Address) String() string {
	switch a.Kind {
	case Serial:
		return fmt.Sprintf("serial:%s@%d", a.Path, a.Baud)
	case USBTMC:
		return "usbtmc:" + a.Path
	}
	switch Kind(a.Host) {
	case TCP, Serial, USBTMC: // a host of that name
		return "tcp:" + a.hostPort()
	}
	return a.hostPort()
}

func (a Address) hostPort() string { return net.JoinHostPort(a.Host, strconv.Itoa(a.Port)) }

// Local tells that the address leads nowhere but to this computer.
func (a Address) Local() bool {
	if a.Kind != TCP {
		return true
	}
	ip := net.ParseIP(a.Host)
	return a.Host == "localhost" || ip != nil && ip.IsLoopback()
}

// Private tells that the address is of this computer or a private network. SCPI
// has no password: whoever reaches a meter commands it.
func (a Address) Private() bool {
	ip := net.ParseIP(a.Host)
	return a.Local() || ip == nil || ip.IsPrivate() || ip.IsLinkLocalUnicast()
}
