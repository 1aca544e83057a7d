package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
)

func newMetersFind(f *metersFlags) *cobra.Command {
	var hosts []string
	var announced bool
	var ports []int
	c := &cobra.Command{
		Use:   "find",
		Short: "look for meters: on this computer, and on a network that you name",
		Long: `find looks at this computer's USBTMC device files, lists its serial ports (without
opening them) and asks at the ports 5025 to 5040 of this computer. Networks are
searched only when --hosts names them: each address is connected to once and
asked *IDN?. At most 1024 addresses are looked at. With --announced the local
network is asked once which instruments announce themselves (multicast DNS, under
_scpi-raw._tcp, _lxi._tcp and _vxi-11._tcp), and those are asked *IDN?.`,
		Example: `  railtally meters find
  railtally meters find --announced
  railtally meters find --hosts 192.168.1.0/24
  railtally meters find --hosts 192.168.1.0/24 --ports 5025,5555`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			w := acquire.Where{Hosts: []string{"127.0.0.1"}, Ports: ports, Files: len(hosts) == 0}
			if len(hosts) > 0 {
				w.Hosts = hosts
				if !cmd.Flags().Changed("ports") {
					w.Ports = []int{5025}
				}
			}
			if announced {
				w.Announced = true
				if len(hosts) == 0 {
					w.Hosts, w.Files = nil, false
				}
			}
			for _, p := range w.Ports {
				if p < 1 || p > 65535 {
					return usage{fmt.Errorf("--ports %d: 1 to 65535 are accepted", p)}
				}
			}
			found, err := acquire.Find(cmd.Context(), w, nil)
			if err != nil {
				return usage{err}
			}
			out := cmd.OutOrStdout()
			if f.json {
				type place struct {
					Address string `json:"address"`
					Ident   any    `json:"identification,omitempty"`
					Note    string `json:"note,omitempty"`
					Name    string `json:"announced,omitempty"`
				}
				doc := []place{}
				for _, x := range found {
					p := place{Address: x.Address.String(), Note: x.Note, Name: x.Announced}
					if x.Note == "" {
						p.Ident = x.Ident
					}
					doc = append(doc, p)
				}
				return writeJSON(out, map[string]any{"format": "railtally find 1", "found": doc})
			}
			if len(found) == 0 {
				return errors.New("no meter was found; name its network with --hosts, ask with --announced, or give its address to 'railtally meters identify'")
			}
			tb := newTable("address", "is")
			for _, x := range found {
				is := or(x.Note, x.Ident.String())
				if x.Announced != "" {
					is = x.Announced + ": " + is
				}
				tb.add(x.Address.String(), is)
			}
			tb.print(out)
			return nil
		},
	}
	c.Flags().StringSliceVar(&hosts, "hosts", nil, "addresses or ranges to search, as in 192.168.1.0/24")
	c.Flags().BoolVar(&announced, "announced", false, "ask the local network which instruments announce themselves")
	c.Flags().IntSliceVar(&ports, "ports", acquire.UsualPorts(), "ports to ask at (with --hosts only 5025)")
	return c
}
