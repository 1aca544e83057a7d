package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
)

// metersFlags are what all commands about meters share.
type metersFlags struct {
	notebook string
	file     string
	json     bool
}

func newMeters() *cobra.Command {
	var f metersFlags
	c := &cobra.Command{
		Use:   "meters",
		Short: "find, try and record live meters",
		Long: `meters talks to meters that speak SCPI over the network (a raw socket), a serial
line or USB (USBTMC device files of Linux). A METER below is a name from your
settings or an address:

  192.0.2.7:5025            a raw socket; without a port 5025
  serial:/dev/ttyUSB0@9600  a serial port, serial:COM3 on Windows
  usbtmc:/dev/usbtmc0       a device file

Meters are asked for readings only. Commands by which an instrument puts out
voltage or current, or opens a current path, are refused.

Without a meter, try it on a simulated bench: railtally simulate.`,
		Example: `  railtally meters find
  railtally meters add "desk meter" 192.0.2.7
  railtally meters watch "desk meter"
  railtally meters take "desk meter"
  railtally meters record "desk meter" --to run.csv --for 10m`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	c.PersistentFlags().StringVar(&f.notebook, "notebook", "", "the notebook whose meters these are (in your data folder unless named)")
	c.PersistentFlags().StringVar(&f.file, "meters", "", "the file of settings (beside the notebook unless named)")
	c.PersistentFlags().BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	c.AddCommand(newMetersList(&f), newMetersAdd(&f), newMetersRemove(&f), newMetersFind(&f), newMetersIdentify(&f),
		newMetersAsk(&f), newMetersWatch(&f), newMetersTake(&f), newMetersRecord(&f))
	for _, sub := range c.Commands() {
		wrapArgs(sub)
	}
	return c
}

// path is the file of settings.
func (f *metersFlags) path() (string, error) {
	if f.file != "" {
		return f.file, nil
	}
	nb, err := notebookPath(f.notebook)
	if err != nil {
		return "", err
	}
	return acquire.SettingsPath(nb), nil
}

func (f *metersFlags) load() (*acquire.Settings, string, error) {
	path, err := f.path()
	if err != nil {
		return nil, "", err
	}
	s, err := acquire.LoadSettings(path)
	return s, path, err
}

// named finds meters by name or address; none named: all of the settings.
func (f *metersFlags) named(args []string) ([]acquire.Meter, error) {
	s, path, err := f.load()
	if err != nil {
		return nil, err
	}
	if len(args) == 0 {
		if len(s.Meters) == 0 {
			return nil, fmt.Errorf("no meter is named, and %s holds none: name an address, or add a meter with 'railtally meters add NAME ADDRESS'", path)
		}
		return s.Meters, nil
	}
	var out []acquire.Meter
	for _, a := range args {
		if m := s.Meter(a); m != nil {
			out = append(out, *m)
			continue
		}
		// A name without a colon that is no host with dots is a slip, not a host.
		if !strings.ContainsAny(a, ":./") && a != "localhost" {
			return nil, fmt.Errorf("no meter called %q in %s; an address has a dot or a colon", a, path)
		}
		m := acquire.Meter{Name: a, Address: a}
		if err := m.Validate(); err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, nil
}

func newMetersList(f *metersFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "the meters of your settings",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, path, err := f.load()
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			if f.json {
				meters := s.Meters
				if meters == nil {
					meters = []acquire.Meter{}
				}
				return writeJSON(out, map[string]any{"format": "railtally meters 1", "meters": meters})
			}
			if len(s.Meters) == 0 {
				fmt.Fprintf(out, "No meters in %s.\nAdd one with 'railtally meters add NAME ADDRESS'.\n", path)
				return nil
			}
			tb := newTable("meter", "address", "asked for a reading", "before a reading")
			for _, m := range s.Meters {
				query := m.Query
				if query == "" {
					query = "READ?"
				}
				tb.add(m.Name, m.Address, query, m.Prepare)
			}
			tb.print(out)
			return nil
		},
	}
}

func newMetersAdd(f *metersFlags) *cobra.Command {
	var m acquire.Meter
	c := &cobra.Command{
		Use:   "add NAME ADDRESS",
		Short: "put a meter into your settings",
		Long: `add puts a meter into your settings, or replaces the one of that name. NAME is
what your study calls the instrument: the Bench page then offers its live digits
wherever that instrument is to be read.`,
		Example: `  railtally meters add "desk meter" 192.0.2.7
  railtally meters add "desk meter" usbtmc:/dev/usbtmc0 --setup "CONF:VOLT:DC" --setup "VOLT:NPLC 10"
  railtally meters add scanner 192.0.2.9 --prepare 'ROUT:CLOS (@{of})'`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			m.Name, m.Address = args[0], args[1]
			s, path, err := f.load()
			if err != nil {
				return err
			}
			if err := s.Put(m); err != nil {
				return usage{err}
			}
			if err := s.Save(path); err != nil {
				return err
			}
			a, err := acquire.ParseAddress(m.Address)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s at %s\nKept in %s\n", m.Name, a, path)
			if !a.Private() {
				fmt.Fprintf(cmd.ErrOrStderr(), "%s is not an address of a private network. SCPI knows no password: whoever reaches the meter commands it.\n", a.Host)
			}
			return nil
		},
	}
	fl := c.Flags()
	fl.StringVar(&m.Query, "query", "", "what brings a reading (READ?)")
	fl.StringVar(&m.Unit, "unit", "", "what it reads: V, A, °C, Ω (V)")
	fl.StringArrayVar(&m.Setup, "setup", nil, "sent after connecting; may be given several times")
	fl.StringVar(&m.Prepare, "prepare", "", "sent before each reading; {what}, {of} and {state} are put in")
	fl.StringSliceVar(&m.Overload, "overload", nil, "further words for a reading beyond the range")
	fl.Float64Var(&m.Timeout, "timeout", 0, "seconds to wait for an answer (5)")
	fl.Float64Var(&m.Pause, "pause", 0, "seconds between an answer and the next question")
	fl.Float64Var(&m.Spacing, "spacing", 0, "seconds between the readings of one answer, for a meter with a timer of its own")
	fl.BoolVar(&m.Sources, "sources", false, "allow commands by which the instrument puts something out")
	return c
}

func newMetersRemove(f *metersFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "remove NAME",
		Short: "take a meter out of your settings",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, path, err := f.load()
			if err != nil {
				return err
			}
			if !s.Remove(args[0]) {
				return fmt.Errorf("no meter called %q in %s", args[0], path)
			}
			return s.Save(path)
		},
	}
}

func newMetersIdentify(f *metersFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "identify [METER...]",
		Short: "ask meters who they are, and what is in their error queues",
		Long: `identify asks each meter who it is (*IDN?) and empties its error queue, with what
each entry means. Without METER it asks all meters of your settings.`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			meters, err := f.named(args)
			if err != nil {
				return err
			}
			return runIdentify(cmd.Context(), cmd.OutOrStdout(), meters, f.json)
		},
	}
}

func runIdentify(ctx context.Context, out io.Writer, meters []acquire.Meter, asJSON bool) error {
	type line struct {
		Meter   string   `json:"meter"`
		Address string   `json:"address"`
		Ident   any      `json:"identification,omitempty"`
		Errors  []string `json:"errors"`
		Trouble string   `json:"trouble,omitempty"`
	}
	tb := newTable("meter", "is", "errors in its queue")
	var doc []line
	var first error
	for _, m := range meters {
		l := line{Meter: m.Name, Address: m.Address, Errors: []string{}}
		text := ""
		err := func() error {
			s, err := acquire.Open(ctx, &m, acquire.Dial)
			if err != nil {
				return err
			}
			defer s.Close()
			id, err := s.Identify()
			if err != nil {
				return err
			}
			l.Ident, text = id, id.String()
			faults, err := s.Faults()
			for _, x := range faults {
				l.Errors = append(l.Errors, fmt.Sprintf("%v (%s)", x, x.Class()))
			}
			return err
		}()
		if err != nil {
			l.Trouble = acquire.Why(err)
			if text == "" {
				text = l.Trouble
			}
			if first == nil {
				first = fmt.Errorf("%s: %s", m.Name, l.Trouble)
			}
		}
		doc = append(doc, l)
		tb.add(m.Name, text, or(strings.Join(l.Errors, "; "), "none"))
	}
	if asJSON {
		if err := writeJSON(out, map[string]any{"format": "railtally identify 1", "meters": doc}); err != nil {
			return err
		}
		return first
	}
	tb.print(out)
	return first
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func newMetersAsk(f *metersFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "ask METER MESSAGE",
		Short: "send one message to a meter and print its answer",
		Example: `  railtally meters ask "desk meter" "SYST:VERS?"
  railtally meters ask 127.0.0.1:5025 'BENC:STAT "one-busy"'`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			meters, err := f.named(args[:1])
			if err != nil {
				return err
			}
			meters[0].Setup = nil
			s, err := acquire.Open(cmd.Context(), &meters[0], acquire.Dial)
			if err != nil {
				return fmt.Errorf("%s: %s: %w", meters[0].Name, acquire.Why(err), err)
			}
			defer s.Close()
			answer, err := s.Ask(args[1])
			if err != nil {
				return fmt.Errorf("%s: %s: %w", meters[0].Name, acquire.Why(err), err)
			}
			if answer != "" {
				fmt.Fprintln(cmd.OutOrStdout(), answer)
				return nil
			}
			faults, err := s.Faults()
			if err != nil {
				return fmt.Errorf("%s: %s", meters[0].Name, acquire.Why(err))
			}
			for _, x := range faults {
				return fmt.Errorf("%s: %w (%s)", meters[0].Name, x, x.Class())
			}
			return nil
		},
	}
}

// finite turns NaN and infinities into null and words, which JSON lacks.
func finite(x float64) any {
	if x-x == 0 {
		return x
	}
	if x != x {
		return nil
	}
	return json.RawMessage(`"overload"`)
}

// stationOf connects to meters that are named.
func stationOf(meters []acquire.Meter) (*acquire.Station, error) {
	return acquire.NewStation(meters, acquire.Options{Backoff: time.Second})
}
