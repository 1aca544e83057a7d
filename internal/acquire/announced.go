package acquire

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"

	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// Instruments announce themselves on their network by multicast DNS (RFC 6762) under the service names of the LXI and
// VXI standards, registered with IANA (from memory).
const (
	serviceRaw = "_scpi-raw._tcp.local." // SCPI over a plain socket, at the port it tells
	serviceLXI = "_lxi._tcp.local."      // an LXI device; tells the port of its web page
	serviceVXI = "_vxi-11._tcp.local."   // VXI-11, which is not spoken here
)

// An announced instrument is what one name stands for.
type announced struct {
	name     string // "Desk meter", of the instance
	services []string
	host     string // name
	port     int    // of a raw socket; 0: none was announced
	address  netip.Addr
}

const (
	// group is where multicast DNS is asked; a question from another port than 5353 is answered to whoever asked
	// (RFC 6762, 5.1 and 6.7).
	group       = "224.0.0.251:5353"
	browseTime  = 1200 * time.Millisecond
	maxAnswer   = 9000 // RFC 6762, 17
	mostAnswers = 256
)

// browse asks once who is there and gathers answers until it has waited long enough. to is the multicast group, or in a
// test one responder.
func browse(ctx context.Context, to string, wait time.Duration) ([]announced, error) {
	dst, err := net.ResolveUDPAddr("udp4", to)
	if err != nil {
		return nil, err
	}
	c, err := net.ListenUDP("udp4", nil)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	release := context.AfterFunc(ctx, func() { c.Close() })
	defer release()
	g := &gathered{ptr: map[string][]string{}, srv: map[string]dnsmessage.SRVResource{}, addr: map[string]netip.Addr{}}
	question, err := questions(dnsmessage.TypePTR, serviceRaw, serviceLXI, serviceVXI)
	if err != nil {
		return nil, err
	}
	if err := everywhere(c, dst, question); err != nil {
		return nil, err
	}
	// What a first answer leaves out is asked for halfway.
	_ = c.SetReadDeadline(time.Now().Add(wait / 2))
	g.listen(c)
	if more, err := g.missing(); err == nil && more != nil {
		_ = everywhere(c, dst, more)
	}
	_ = c.SetReadDeadline(time.Now().Add(wait / 2))
	g.listen(c)
	return g.list(), ctx.Err()
}

// everywhere sends to one address, or to a group through every interface that has one.
func everywhere(c *net.UDPConn, dst *net.UDPAddr, message []byte) error {
	if !dst.IP.IsMulticast() {
		_, err := c.WriteTo(message, dst)
		return err
	}
	p := ipv4.NewPacketConn(c)
	_ = p.SetMulticastTTL(255)
	all, err := net.Interfaces()
	if err != nil {
		return err
	}
	sent, last := 0, errors.New("no network interface speaks multicast")
	for _, in := range all {
		if in.Flags&net.FlagUp == 0 || in.Flags&net.FlagMulticast == 0 || p.SetMulticastInterface(&in) != nil {
			continue
		}
		if _, err := c.WriteTo(message, dst); err != nil {
			last = err
			continue
		}
		sent++
	}
	if sent == 0 {
		return last
	}
	return nil
}

func questions(of dnsmessage.Type, names ...string) ([]byte, error) {
	b := dnsmessage.NewBuilder(nil, dnsmessage.Header{})
	if err := b.StartQuestions(); err != nil {
		return nil, err
	}
	for _, n := range names {
		name, err := dnsmessage.NewName(n)
		if err != nil {
			continue
		}
		if err := b.Question(dnsmessage.Question{Name: name, Type: of, Class: dnsmessage.ClassINET}); err != nil {
			return nil, err
		}
	}
	return b.Finish()
}

// gathered is what answers told, by names in small letters.
type gathered struct {
	ptr  map[string][]string // instances of a service, as written
	srv  map[string]dnsmessage.SRVResource
	addr map[string]netip.Addr
	n    int
}

func (g *gathered) listen(c *net.UDPConn) {
	buf := make([]byte, maxAnswer)
	for g.n < mostAnswers {
		n, from, err := c.ReadFromUDPAddrPort(buf)
		if err != nil {
			return
		}
		g.n++
		g.take(buf[:n], from.Addr().Unmap())
	}
}

// take reads one answer; what is no answer is passed over. An instrument that tells no address is where its answer came from.
func (g *gathered) take(message []byte, from netip.Addr) {
	var m dnsmessage.Message
	if m.Unpack(message) != nil || !m.Header.Response {
		return
	}
	for _, r := range slices.Concat(m.Answers, m.Additionals) {
		name := strings.ToLower(r.Header.Name.String())
		switch b := r.Body.(type) {
		case *dnsmessage.PTRResource:
			if name != serviceRaw && name != serviceLXI && name != serviceVXI {
				continue
			}
			if x := b.PTR.String(); !slices.Contains(g.ptr[name], x) {
				g.ptr[name] = append(g.ptr[name], x)
			}
		case *dnsmessage.SRVResource:
			g.srv[name] = *b
			if host := strings.ToLower(b.Target.String()); !g.addr[host].IsValid() {
				g.addr[host] = from
			}
		case *dnsmessage.AResource:
			g.addr[name] = netip.AddrFrom4(b.A)
		}
	}
}

// missing asks where the instances are that told no host; nil where all did.
func (g *gathered) missing() ([]byte, error) {
	var names []string
	for _, list := range g.ptr {
		for _, x := range list {
			if _, ok := g.srv[strings.ToLower(x)]; !ok {
				names = append(names, x)
			}
		}
	}
	if names == nil {
		return nil, nil
	}
	return questions(dnsmessage.TypeSRV, names...)
}

// list puts the services of one host together.
func (g *gathered) list() []announced {
	var out []announced
	at := map[netip.Addr]int{}
	for _, service := range []string{serviceRaw, serviceLXI, serviceVXI} {
		for _, x := range g.ptr[service] {
			srv, ok := g.srv[strings.ToLower(x)]
			if !ok {
				continue
			}
			host := strings.ToLower(srv.Target.String())
			addr := g.addr[host]
			if !addr.IsValid() {
				continue
			}
			k, seen := at[addr]
			if !seen {
				k = len(out)
				at[addr] = k
				out = append(out, announced{name: instance(x, service), host: strings.TrimSuffix(host, "."), address: addr})
			}
			out[k].services = append(out[k].services, strings.TrimSuffix(service, "._tcp.local."))
			if service == serviceRaw && out[k].port == 0 {
				out[k].port = int(srv.Port)
			}
		}
	}
	return out
}

// instance is the name before a service.
func instance(full, service string) string {
	if n := len(full) - len(service); n > 0 && strings.EqualFold(full[n:], service) {
		return strings.TrimSuffix(full[:n], ".")
	}
	return full
}
