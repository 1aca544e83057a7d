package cooling

import (
	"math"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// Ask is what the cooling must stand.
type Ask struct {
	Power    gum.Value // W; not Valid where nothing is known of it
	Room     gum.Value // °C; likewise
	Altitude float64   // m
	Pressure float64   // Pa
	// FromState names the state whose total the power is; "" where the power
	// was stated.
	FromState string
}

// Known tells whether there is something to predict for.
func (a Ask) Known() bool { return a.Power.Valid() && a.Room.Valid() }

// ask works out what a board's cooling must stand: as asked, else as the study
// says, else the warmest of its rooms and the highest of its totals.
func (c *Cooling) ask(b *Board) error {
	pick := func(asked, said *quantity.Entry) *quantity.Entry {
		if asked != nil {
			return asked
		}
		return said
	}
	if e := pick(c.opt.Altitude, b.How.Altitude); e != nil {
		b.Ask.Altitude = e.Value()
		if err := heat.CheckAltitude(b.Ask.Altitude); err != nil {
			return err
		}
	}
	b.Ask.Pressure = heat.PressureAt(b.Ask.Altitude)

	input := func(what string, e *quantity.Entry) gum.Value {
		return c.Tally.Graph.Input(gum.Input{Name: b.Name + ": " + what + " asked for", Dist: sensing.Within(*e, 0),
			Tags: tagged(CauseAsked, sensing.TagBoard, b.Name)})
	}
	if e := pick(c.opt.Power, b.How.Power); e != nil {
		b.Ask.Power = input("power", e)
	} else if s := tally.Fullest(b.tally); s != nil {
		b.Ask.Power, b.Ask.FromState = s.Total.Value, s.State.Name
	}
	if e := pick(c.opt.Room, b.How.Room); e != nil {
		b.Ask.Room = input("room", e)
		in := heat.Room(e.Value())
		return in.Check()
	}
	warmest := math.Inf(-1)
	for _, x := range c.Tally.Study.Sittings {
		if x.Board == b.Name && x.Room != nil && x.Room.Value() > warmest {
			warmest = x.Room.Value()
			b.Ask.Room = c.bench.room(x)
		}
	}
	return nil
}
