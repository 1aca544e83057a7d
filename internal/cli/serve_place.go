package cli

import (
	"errors"
	"net"
	"os"
	"strings"
)

// place is where a server is found.
type place struct {
	local   string   // address for this computer's browser
	address string   // for other devices; empty when they are not served
	hosts   []string // names and addresses it may be asked under besides loopback
}

// placeOf works out the addresses of a listener.
func placeOf(a net.Addr, lan bool) (place, error) {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return place{}, err
	}
	ip := net.ParseIP(host)
	at := func(h string) string { return "http://" + net.JoinHostPort(h, port) }
	p := place{local: at("127.0.0.1")}
	if ip != nil && ip.IsLoopback() {
		p.local = at(host)
	}
	if !lan {
		return p, nil
	}
	if ip != nil && !ip.IsUnspecified() {
		if ip.IsLoopback() {
			return place{}, usage{errors.New("--lan with an address that only this computer reaches: leave --addr out, or name an address of the network")}
		}
		p.hosts, p.address, p.local = []string{host}, at(host), at(host)
		return p, nil
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return place{}, err
	}
	p.hosts = reachable(addrs)
	if len(p.hosts) == 0 {
		return place{}, errors.New("serve --lan: this computer is on no network")
	}
	p.address = at(p.hosts[0])
	if name, err := os.Hostname(); err == nil && name != "" {
		p.hosts = append(p.hosts, name, strings.TrimSuffix(name, ".local")+".local")
	}
	return p, nil
}

// reachable lists the addresses under which others reach this computer, those
// of private networks first.
func reachable(addrs []net.Addr) []string {
	var private, others []string
	for _, a := range addrs {
		n, ok := a.(*net.IPNet)
		if !ok || n.IP.IsLoopback() || n.IP.IsLinkLocalUnicast() {
			continue
		}
		if n.IP.IsPrivate() && n.IP.To4() != nil {
			private = append(private, n.IP.String())
		} else {
			others = append(others, n.IP.String())
		}
	}
	return append(private, others...)
}
