package acquire

import (
	"context"
	"fmt"
	"math"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/scpi"
)

// Where says where meters are looked for. Nothing is looked for anywhere else.
type Where struct {
	// Hosts are addresses or ranges ("192.0.2.0/24"); at most MostHosts together.
	Hosts []string
	Ports []int
	// Files looks at the device files of USBTMC and lists serial ports. Serial
	// ports are not opened: what hangs there may not like it.
	Files bool
	// Announced asks the local network once which instruments announce themselves (multicast DNS), and looks at those.
	Announced bool

	group string        // asked in place of the multicast group; empty: that
	wait  time.Duration // for answers; 0: browseTime
}

// Found is what was found at one place.
type Found struct {
	Address Address
	Ident   scpi.Ident
	// Note says what there is to say where nothing identified itself.
	Note string
	// Announced is the name under which it announces itself; empty: it was not asked for that.
	Announced string
}

const (
	// MostHosts bounds a search: a quarter of a million of connections helps nobody.
	MostHosts = 1024
	atOnce    = 64
	knockTime = 400 * time.Millisecond
	nameTime  = 1500 * time.Millisecond
)

// Find looks for meters. Each place is connected to once and asked *IDN?; places
// where nothing listens are left out.
func Find(ctx context.Context, w Where, dial Dialer) ([]Found, error) {
	if dial == nil {
		dial = Dial
	}
	hosts, err := hostsOf(w.Hosts)
	if err != nil {
		return nil, err
	}
	var places []Address
	for _, h := range hosts {
		for _, p := range w.Ports {
			places = append(places, Address{Kind: TCP, Host: h, Port: p})
		}
	}
	var out []Found
	if w.Files {
		for _, f := range usbtmcFiles() {
			places = append(places, Address{Kind: USBTMC, Path: f})
		}
		for _, p := range serialPorts() {
			out = append(out, Found{Address: Address{Kind: Serial, Path: p, Baud: defaultBaud}, Note: "a serial port; not opened"})
		}
	}
	var heard []announced
	if w.Announced {
		to, wait := w.group, w.wait
		if to == "" {
			to = group
		}
		if wait == 0 {
			wait = browseTime
		}
		if heard, err = browse(ctx, to, wait); err != nil {
			return nil, fmt.Errorf("ask the network who is there: %w", err)
		}
	}
	first := len(places)
	for _, a := range heard {
		port := a.port
		if port == 0 {
			port = rawPort
		}
		places = append(places, Address{Kind: TCP, Host: a.address.String(), Port: port})
	}
	found := make([]*Found, len(places))
	var all sync.WaitGroup
	gate := make(chan struct{}, atOnce)
	for i, a := range places {
		gate <- struct{}{}
		all.Go(func() {
			defer func() { <-gate }()
			found[i] = knock(ctx, a, dial)
		})
	}
	all.Wait()
	for i, f := range found {
		if k := i - first; k >= 0 {
			if f == nil {
				f = &Found{Address: places[i], Note: "announces " + strings.Join(heard[k].services, ", ") + "; nothing answers at this port"}
			}
			f.Announced = heard[k].name
		}
		if f != nil {
			out = append(out, *f)
		}
	}
	slices.SortStableFunc(out, func(a, b Found) int { return strings.Compare(string(a.Address.Kind), string(b.Address.Kind)) })
	return out, ctx.Err()
}

// knock asks who is at one place; nil where nothing listens.
func knock(ctx context.Context, a Address, dial Dialer) *Found {
	ctx, cancel := context.WithTimeout(ctx, knockTime)
	defer cancel()
	link, err := dial(ctx, a)
	if err != nil {
		if a.Kind == USBTMC {
			return &Found{Address: a, Note: err.Error()}
		}
		return nil
	}
	m := Meter{Name: "unknown", Address: a.String(), Timeout: nameTime.Seconds()}
	s := &Session{&m, link}
	defer s.Close()
	id, err := s.Identify()
	if err != nil {
		return &Found{Address: a, Note: "something listens; " + Why(err)}
	}
	return &Found{Address: a, Ident: id}
}

// hostsOf writes out ranges of addresses.
func hostsOf(hosts []string) ([]string, error) {
	var out []string
	for _, h := range hosts {
		if !strings.Contains(h, "/") {
			out = append(out, h)
			continue
		}
		p, err := netip.ParsePrefix(h)
		if err != nil || p.Addr().Is6() {
			return nil, fmt.Errorf("hosts %q: an address, a name, or a range as in 192.0.2.0/24 is accepted", h)
		}
		if n := 32 - p.Bits(); n > 10 {
			return nil, fmt.Errorf("hosts %s: %d addresses; at most %d are looked at", h, 1<<n, MostHosts)
		}
		var within []string
		for ip := p.Masked().Addr(); p.Contains(ip); ip = ip.Next() {
			within = append(within, ip.String())
		}
		if p.Bits() < 31 {
			within = within[1 : len(within)-1] // they name the network and everybody in it
		}
		out = append(out, within...)
	}
	if len(out) > MostHosts {
		return nil, fmt.Errorf("%d addresses; at most %d are looked at", len(out), MostHosts)
	}
	return out, nil
}

// UsualPorts are looked at unless others are named: the registered port of SCPI
// and those behind it, where the simulated bench listens.
func UsualPorts() []int {
	var out []int
	for p := rawPort; p < rawPort+16; p++ {
		out = append(out, p)
	}
	return out
}

// Tried is what one try of a meter brought.
type Tried struct {
	Ident  scpi.Ident
	Values []float64
}

// Reading is the last reading in words.
func (t Tried) Reading(u quantity.Unit) string {
	switch x := t.Values[len(t.Values)-1]; {
	case math.IsNaN(x):
		return "nothing"
	case math.IsInf(x, 0):
		return "beyond its range"
	default:
		return quantity.Format(x, u, 6)
	}
}

// Try connects to a meter, asks who it is and for one reading.
func Try(ctx context.Context, m *Meter, dial Dialer) (Tried, error) {
	s, err := Open(ctx, m, dial)
	if err != nil {
		return Tried{}, err
	}
	defer s.Close()
	var t Tried
	if t.Ident, err = s.Identify(); err != nil {
		return t, err
	}
	a, err := s.read()
	t.Values = a.values
	return t, err
}
