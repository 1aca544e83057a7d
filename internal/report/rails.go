package report

import (
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// boardView is one board: its lanes, its table of powers, its states opened.
type boardView struct {
	Name, Chip, Note string
	ID               string
	Lanes, Stack     *picture
	LanesOf          string
	Parts            *partsView
	Table            *powerTable
	States           []*openState
}

// powerTable is the power of each rail in each state. States go down the page,
// so that a phone shows the totals and a column holds one rail with one prefix.
type powerTable struct {
	ID      string
	Caption string
	Total   string // unit of the totals
	Rails   []columnHead
	Rows    []powerRow
	Wide    bool // needs the page turned in print
	Marks   []string
}

type columnHead struct{ Name, Unit, Under string }

type powerRow struct {
	State, Href string
	Total       *cell
	Rails       []*cell
}

func (a *assembler) board(b *tally.Board) (*boardView, error) {
	v := &boardView{Name: b.Name, Chip: b.Chip, Note: a.prose(b.Note), ID: a.anchors.id(b.Name)}
	for _, s := range b.States {
		o, err := a.open(s)
		if err != nil {
			return nil, err
		}
		v.States = append(v.States, o)
	}
	if len(b.States) == 0 {
		return v, nil
	}
	v.Table = a.powerTable(b)
	var err error
	if v.Stack, err = a.stackChart(b); err != nil {
		return nil, err
	}
	if s := tally.Fullest(b); s != nil {
		v.LanesOf = s.State.Name
		if v.Lanes, err = a.lanesChart(s); err != nil {
			return nil, err
		}
		if v.Parts, err = a.railParts(s); err != nil {
			return nil, err
		}
	}
	return v, nil
}

// wideColumns is how many rails fit an upright printed page.
const wideColumns = 7

func (a *assembler) powerTable(b *tally.Board) *powerTable {
	v := &powerTable{ID: a.anchors.part("table", b.Name), Caption: a.say("Power of each rail of %s in each state", b.Name)}
	totals := a.newColumn(quantity.Watt, figuresOf(b, func(s *tally.State) *tally.Figure {
		if !s.Complete {
			return nil
		}
		return &s.Total
	})...)
	v.Total = totals.Symbol()
	for _, s := range b.States {
		row := powerRow{State: s.State.Name, Href: "#" + a.stateID(s)}
		if s.Complete {
			row.Total = totals.add(s.Total)
		} else {
			row.Total = &cell{Words: a.say("rail missing"), Mark: a.List(s.Missing)}
		}
		row.Total.Href = row.Href
		v.Rows = append(v.Rows, row)
	}
	totals.align()
	nominal, bounded := false, false
	for _, rail := range b.Rails {
		if rail.Aside {
			continue
		}
		col := a.newColumn(quantity.Watt, figuresOf(b, func(s *tally.State) *tally.Figure {
			if r := s.Rail(rail.Name); r != nil {
				return &r.Power
			}
			return nil
		})...)
		for i, s := range b.States {
			r := s.Rail(rail.Name)
			if r == nil {
				v.Rows[i].Rails = append(v.Rows[i].Rails, &cell{Words: a.say("not read")})
				continue
			}
			c := a.power(col, r)
			if r.Stands {
				c.Mark, nominal = a.say("nominal"), true
			}
			bounded = bounded || isBounded(r.Rail)
			c.Href = "#" + a.railID(s, r)
			v.Rows[i].Rails = append(v.Rows[i].Rails, c)
		}
		col.align()
		v.Rails = append(v.Rails, columnHead{Name: rail.Name, Unit: col.Symbol(), Under: a.nominalText(rail)})
	}
	if nominal {
		v.Marks = append(v.Marks, a.say("nominal: the voltage was not read; the nominal one stands in, at the cost of its tolerance."))
	}
	if bounded {
		v.Marks = append(v.Marks, a.say("0 to X: the rail was not opened; the total counts it as lying anywhere between the two limits, never as zero."))
	}
	for _, r := range b.Rails {
		if r.From != nil {
			v.Marks = append(v.Marks, a.say("%s hangs on %s and is taken off it, so that nothing is counted twice.", r.Name, r.From.Rail))
		}
		if r.Aside {
			v.Marks = append(v.Marks, a.say("%s was measured but does not enter the chip; it stands in the states opened below.", r.Name))
		}
	}
	v.Wide = len(v.Rails) > wideColumns
	return v
}

// power sets a rail's power, a bounded one as its limits.
func (a *assembler) power(col *column, r *tally.Rail) *cell {
	if isBounded(r.Rail) {
		lo, hi := bound(r.Rail)
		return col.between(lo*r.Voltage.Estimate, hi*r.Voltage.Estimate)
	}
	return col.add(r.Power)
}

func figuresOf(b *tally.Board, pick func(*tally.State) *tally.Figure) []tally.Figure {
	var out []tally.Figure
	for _, s := range b.States {
		if f := pick(s); f != nil {
			out = append(out, *f)
		}
	}
	return out
}
