package acquire

import (
	"context"
	"net"
	"net/netip"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// respond answers questions of multicast DNS at a port of this computer, as two instruments and a printer would: one
// tells all at once, of the other the host must be asked for.
func respond(t *testing.T, port int) string {
	t.Helper()
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	name := dnsmessage.MustNewName
	head := func(n string, of dnsmessage.Type) dnsmessage.ResourceHeader {
		return dnsmessage.ResourceHeader{Name: name(n), Type: of, Class: dnsmessage.ClassINET | 1<<15, TTL: 120}
	}
	ptr := func(service, of string) dnsmessage.Resource {
		return dnsmessage.Resource{Header: head(service, dnsmessage.TypePTR), Body: &dnsmessage.PTRResource{PTR: name(of)}}
	}
	srv := func(of, host string, port int) dnsmessage.Resource {
		return dnsmessage.Resource{Header: head(of, dnsmessage.TypeSRV), Body: &dnsmessage.SRVResource{Target: name(host), Port: uint16(port)}}
	}
	a := func(host string, b byte) dnsmessage.Resource {
		return dnsmessage.Resource{Header: head(host, dnsmessage.TypeA), Body: &dnsmessage.AResource{A: [4]byte{127, 0, 0, b}}}
	}
	go func() {
		buf := make([]byte, 4096)
		for {
			n, from, err := c.ReadFrom(buf)
			if err != nil {
				return
			}
			var q dnsmessage.Message
			if q.Unpack(buf[:n]) != nil {
				continue
			}
			r := dnsmessage.Message{Header: dnsmessage.Header{Response: true, Authoritative: true}}
			for _, x := range q.Questions {
				switch {
				case x.Type == dnsmessage.TypePTR && x.Name.String() == serviceRaw:
					r.Answers = append(r.Answers, ptr(serviceRaw, "Desk meter, invented._scpi-raw._tcp.local."))
					r.Additionals = append(r.Additionals, srv("Desk meter, invented._scpi-raw._tcp.local.", "desk.local.", port), a("desk.local.", 1))
				case x.Type == dnsmessage.TypePTR && x.Name.String() == serviceLXI:
					r.Answers = append(r.Answers, ptr(serviceLXI, "Desk meter, invented._lxi._tcp.local."), ptr(serviceLXI, "Silent one._lxi._tcp.local."), ptr("_printer._tcp.local.", "Paper._printer._tcp.local."))
					r.Additionals = append(r.Additionals, srv("Desk meter, invented._lxi._tcp.local.", "desk.local.", 80))
				case x.Type == dnsmessage.TypeSRV && strings.HasPrefix(x.Name.String(), "Silent one"):
					r.Answers = append(r.Answers, srv("Silent one._lxi._tcp.local.", "silent.local.", 80), a("silent.local.", 9))
				}
			}
			_, _ = c.WriteTo([]byte("no message"), from)
			if b, err := r.Pack(); err == nil && len(r.Answers) > 0 {
				_, _ = c.WriteTo(b, from)
			}
		}
	}()
	return c.LocalAddr().String()
}

// An instrument that announces itself is found at the port that it tells and asked who it is; one that announces only
// its web page is listed as what it is; a printer is none.
func TestAnnounced(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			buf := make([]byte, 64)
			if n, err := c.Read(buf); err == nil && strings.HasPrefix(string(buf[:n]), "*IDN?") {
				_, _ = c.Write([]byte("MADE UP,M-1,7,1.0\n"))
			}
			c.Close()
		}
	}()
	port := l.Addr().(*net.TCPAddr).Port
	found, err := Find(t.Context(), Where{Announced: true, group: respond(t, port), wait: 200 * time.Millisecond}, nil)
	if err != nil || len(found) != 2 {
		t.Fatalf("%+v %v", found, err)
	}
	if f := found[0]; f.Address.Port != port || f.Address.Host != "127.0.0.1" || f.Ident.Model != "M-1" || f.Announced != "Desk meter, invented" {
		t.Errorf("%+v", f)
	}
	if f := found[1]; f.Address.Host != "127.0.0.9" || f.Announced != "Silent one" || !strings.Contains(f.Note, "_lxi") {
		t.Errorf("%+v", f)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Find(ctx, Where{Announced: true, group: "127.0.0.1:9", wait: time.Second}, nil); err == nil {
		t.Error("a search that was given up says nothing of it")
	}
}

// Answers come from anybody on the network.
func FuzzAnnouncement(f *testing.F) {
	q, _ := questions(dnsmessage.TypePTR, serviceRaw)
	f.Add(q)
	f.Fuzz(func(t *testing.T, raw []byte) {
		g := &gathered{ptr: map[string][]string{}, srv: map[string]dnsmessage.SRVResource{}, addr: map[string]netip.Addr{}}
		g.take(raw, netip.Addr{})
		g.list()
		_, _ = g.missing()
	})
}
