package cli

import (
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/simbench"
	"railtally/internal/studyfile"
)

// simulateFlags say which bench is simulated.
type simulateFlags struct {
	board    string
	state    string
	seed     uint64
	loggers  int
	port     int
	pace     float64
	notebook string
	length   time.Duration
}

func newSimulate() *cobra.Command {
	var f simulateFlags
	c := &cobra.Command{
		Use:   "simulate",
		Short: "a simulated bench, to try everything without one",
		Long: `simulate is a bench to try railtally on: the board of the worked example with its
true currents and voltages, a desk meter and a thermometer that speak SCPI on
this computer, clamps whose zero wanders, noise, ripple, and a chip that warms
after a state was set. It runs until you stop it.

With --notebook it also puts the study's plan into that notebook and the meters
into its settings, so that the Bench page can take readings at once: the
simulated tester sets states and moves leads by itself.

Where leads lie, which state the board is in and what ails a meter can be set by
commands, with 'railtally meters ask':

  BENC:STAT "one-busy"          sets a state
  BENC:LEAD "current","core"    moves the leads: voltage, current, zero, temperature
  BENC:FAUL GARBAGE,3           spoils three answers: also DISCONNECT, GONE, SLOW,
                                OVERLOAD, HALF, FLOOD; NONE ends it
  BENC:WAIT 480                 lets eight minutes of the bench's time pass
  BENC:TRUE? "one-busy"         the power that a tally must find, in watts`,
		Example: `  railtally simulate --notebook try.db
  railtally simulate --board Marten --state four-busy --loggers 8`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return runSimulate(cmd.Context(), cmd.OutOrStdout(), f)
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.board, "board", "Otter", "the board on the bench: "+strings.Join(example.Boards(), ", "))
	fl.StringVar(&f.state, "state", "", "the state to begin with: "+strings.Join(example.States(), ", "))
	fl.Uint64Var(&f.seed, "seed", example.Seed, "which errors the instruments have")
	fl.IntVar(&f.loggers, "loggers", 0, "further meters, each wired to one current or voltage for good")
	fl.IntVar(&f.port, "port", 5025, "port of the first meter, the others follow; 0: ports that are free")
	fl.Float64Var(&f.pace, "pace", 60, "how many seconds pass on the bench in one")
	fl.StringVar(&f.notebook, "notebook", "", "put the plan and the meters into this notebook")
	fl.DurationVar(&f.length, "for", 0, "stop after so long")
	return c
}

func runSimulate(ctx context.Context, out io.Writer, f simulateFlags) error {
	if !(f.pace > 0 && f.pace <= 10000) {
		return usage{fmt.Errorf("--pace %g: more than 0 and at most 10000 are accepted", f.pace)}
	}
	if f.port < 0 || f.port > 65000 {
		return usage{fmt.Errorf("--port %d: 0 to 65000 are accepted", f.port)}
	}
	b, err := simbench.New(simbench.Config{Seed: f.seed, Board: f.board, Loggers: f.loggers, Clock: simbench.Paced(f.pace)})
	if err != nil {
		return usage{err}
	}
	if f.state != "" {
		if err := b.SetState(f.state); err != nil {
			return usage{err}
		}
	}
	places, stop, err := b.Serve(ctx, f.port)
	if err != nil {
		return fmt.Errorf("%w: another bench may be running; name other ports with --port", err)
	}
	defer stop()
	if f.notebook != "" {
		if err := simulatedNotebook(ctx, f, places); err != nil {
			return err
		}
	}
	printBench(out, f, places)
	if f.length > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, f.length)
		defer cancel()
	}
	<-ctx.Done()
	return nil
}

// simulatedMeters are the settings that let the simulated tester follow what is
// to be read: it sets the state, waits eight minutes for it to settle, and moves
// the leads.
func simulatedMeters(places []simbench.Place) []acquire.Meter {
	var out []acquire.Meter
	for i, p := range places {
		m := acquire.Meter{Name: p.Meter, Address: p.Address, Timeout: 30, Pause: 0.005}
		if i < 2 {
			m.Prepare = `BENC:STAT "{state}",480;LEAD "{what}","{of}"`
		}
		if p.Leads.What == simbench.Temperature {
			m.Unit = "°C"
		}
		out = append(out, m)
	}
	return out
}

// simulatedNotebook puts the plan and the meters into a notebook; a plan that is
// there already stays.
func simulatedNotebook(ctx context.Context, f simulateFlags, places []simbench.Place) error {
	nb, err := openNotebook(ctx, f.notebook, false)
	if err != nil {
		return err
	}
	defer nb.Close()
	s, _, err := studyfile.Read("simulated bench", example.Plan())
	if err != nil {
		return err
	}
	there, err := nb.Studies(ctx)
	if err != nil {
		return err
	}
	known := false
	for _, x := range there {
		known = known || x.Question == s.Question
	}
	if !known {
		if _, err := nb.Import(ctx, s, notebook.Origin{Device: "simulated bench"}); err != nil {
			return err
		}
	}
	path := acquire.SettingsPath(nb.Path())
	meters, err := acquire.LoadSettings(path)
	if err != nil {
		return err
	}
	for _, m := range simulatedMeters(places) {
		if err := meters.Put(m); err != nil {
			return err
		}
	}
	return meters.Save(path)
}

func printBench(out io.Writer, f simulateFlags, places []simbench.Place) {
	fmt.Fprintf(out, "A simulated bench with the board %s; %g s pass on it in one.\n", f.board, f.pace)
	tb := newTable("meter", "address", "leads")
	for _, p := range places {
		tb.add(p.Meter, p.Address, strings.TrimSpace(p.Leads.What+" "+p.Leads.Of))
	}
	tb.print(out)
	heading(out, "Next, in another terminal")
	_, port, _ := net.SplitHostPort(places[0].Address)
	at := "127.0.0.1:" + port
	if f.notebook != "" {
		fmt.Fprintf(out, "    railtally serve --notebook %s\n", f.notebook)
		fmt.Fprint(out, wrap("  ", "Open the study, begin a sitting with the board "+f.board+" under Bench, and press Take.", textWidth))
	}
	fmt.Fprintf(out, "    railtally meters ask %s 'BENC:STAT \"one-busy\";LEAD \"voltage\",\"core\"'\n", at)
	fmt.Fprintf(out, "    railtally meters watch %s\n", at)
	fmt.Fprintf(out, "    railtally meters take %s\n", at)
	fmt.Fprintln(out, "Stop with Ctrl-C.")
}
