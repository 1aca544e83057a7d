package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/cooling"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// coolingFlags are what changes what is asked of the cooling, and how it is
// shown.
type coolingFlags struct {
	board                 string
	room, power, altitude string
	limits, try           []string
	level                 float64
	json                  bool
	notebook              string
	pictures              string
}

func newCooling() *cobra.Command {
	var f coolingFlags
	c := &cobra.Command{
		Use:   "cooling STUDY",
		Short: "temperature at other power and room; does it need a fan",
		Long: `cooling answers what power is measured for: is the chip fine with the sink it
has, on the board alone, in a warm case, at the highest power that was seen? And
which sink would let the fan go? It needs temperatures beside the powers in a
study, and its section cooling for limits and for what the sink looks like.

With --try another cooling is worked out, as a difference from what was
measured. Keys: fins, gap, fin height, fin thickness, width, length, base
thickness, stands, material, finish, emissivity, air speed, fan flow, interface,
sink (none: the board alone).`,
		Example: `  railtally cooling otter.yaml
  railtally cooling otter.yaml --board Otter --room "45 °C" --limit "case=95 °C"
  railtally cooling otter.yaml --board Otter --try "fin height=30 mm" --try fins=7
  railtally cooling otter.yaml --board Otter --try "air speed=0.5 m/s"
  railtally cooling otter.yaml --json | jq '.boards[].answers[]'
  railtally cooling otter.yaml --pictures charts`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runCooling(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVar(&f.board, "board", "", "this board only")
	fl.StringVar(&f.room, "room", "", `the warmest air that it must stand, "45 °C" (the study's)`)
	fl.StringVar(&f.power, "power", "", `the power that it must stand, "7 W" (the study's, or the highest measured)`)
	fl.StringVar(&f.altitude, "altitude", "", `the height above the sea, "1500 m" (the study's, or the sea's)`)
	fl.StringArrayVar(&f.limits, "limit", nil, `the highest temperature allowed of a point, "case=95 °C"; again for others`)
	fl.StringArrayVar(&f.try, "try", nil, `change the cooling, "fin height=30 mm"; again for more`)
	fl.Float64Var(&f.level, "level", 0, "coverage probability of the intervals (the study's, usually 0.95)")
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and °C, unrounded")
	fl.StringVar(&f.pictures, "pictures", "", "write the charts as SVG and PNG to this folder")
	return c
}

// options understands the flags; what they say wrongly is wrong use.
func (f coolingFlags) options() (cooling.Options, error) {
	o := cooling.Options{Board: f.board}
	for _, x := range []struct {
		flag, text string
		unit       quantity.Unit
		like       string
		to         **quantity.Entry
	}{
		{"room", f.room, quantity.Celsius, "45 °C", &o.Room}, {"power", f.power, quantity.Watt, "7 W", &o.Power},
		{"altitude", f.altitude, quantity.Metre, "1500 m", &o.Altitude},
	} {
		if x.text == "" {
			continue
		}
		e, err := asked(x.flag, x.text, x.unit, x.like)
		if err != nil {
			return o, err
		}
		*x.to = &e
	}
	if o.Power != nil && o.Power.Value() <= 0 {
		return o, usage{fmt.Errorf("--power %s: a power above zero is accepted", f.power)}
	}
	for _, l := range f.limits {
		name, text, ok := strings.Cut(l, "=")
		if !ok || strings.TrimSpace(name) == "" {
			return o, usage{fmt.Errorf(`--limit %s: a name and a temperature are accepted, as in "case=95 °C"`, l)}
		}
		e, err := asked("limit", text, quantity.Celsius, "case=95 °C")
		if err != nil {
			return o, err
		}
		o.Limits = append(o.Limits, &study.TempLimit{Name: strings.TrimSpace(name), Max: e})
	}
	if f.level != 0 && !(f.level > 0 && f.level < 1) {
		return o, usage{fmt.Errorf("--level %g: a probability between 0 and 1 is accepted, such as 0.95", f.level)}
	}
	return o, nil
}

// asked reads the quantity of a flag.
func asked(flag, text string, unit quantity.Unit, like string) (quantity.Entry, error) {
	e, err := quantity.Parse(strings.TrimSpace(text), unit, "")
	if err != nil {
		return e, usage{fmt.Errorf("--%s %s: %w, as in %q", flag, text, err, like)}
	}
	return e, nil
}

func runCooling(ctx context.Context, out, errOut io.Writer, name string, f coolingFlags) error {
	o, err := f.options()
	if err != nil {
		return err
	}
	t, err := source{name, f.notebook, errOut}.tally(ctx, f.level)
	if err != nil {
		return err
	}
	c, err := cooling.Run(t, o)
	if err != nil {
		return usage{err}
	}
	trials := map[string]*cooling.Trial{}
	if len(f.try) > 0 {
		b, err := only(c)
		if err != nil {
			return err
		}
		ch, err := changeFrom(b, f.try)
		if err != nil {
			return err
		}
		if trials[b.Name], err = c.Try(b, ch); err != nil {
			return usage{fmt.Errorf("--try: %w", err)}
		}
	}
	if f.pictures != "" {
		if err := os.MkdirAll(f.pictures, 0o755); err != nil {
			return fmt.Errorf("make folder: %w", err)
		}
		if err := writeCoolingPictures(f.pictures, c); err != nil {
			return err
		}
	}
	if f.json {
		doc, err := c.Document(trials)
		if err != nil {
			return err
		}
		return writeJSON(out, doc)
	}
	return printCooling(out, c, trials)
}

// only is the one board that a change is for.
func only(c *cooling.Cooling) (*cooling.Board, error) {
	if len(c.Boards) == 1 {
		return c.Boards[0], nil
	}
	var names []string
	for _, b := range c.Boards {
		names = append(names, b.Name)
	}
	if len(names) == 0 {
		return nil, usage{fmt.Errorf("--try: the study holds no temperatures and no cooling")}
	}
	return nil, usage{fmt.Errorf("--try: say which board with --board: %s", quantity.Join(names))}
}

// changeFrom understands what --try says of a board's sink.
func changeFrom(b *cooling.Board, tries []string) (cooling.Change, error) {
	var list []cooling.Setting
	for _, t := range tries {
		key, text, ok := strings.Cut(t, "=")
		if !ok {
			return cooling.Change{}, usage{fmt.Errorf(`--try %s: a key and its value are accepted, as in "fin height=30 mm"`, t)}
		}
		list = append(list, cooling.Setting{Key: strings.TrimSpace(key), Text: strings.TrimSpace(text)})
	}
	ch, bad := b.ChangeOf(list)
	if len(bad) > 0 {
		return ch, usage{fmt.Errorf("--try %w", bad[0])}
	}
	return ch, nil
}
