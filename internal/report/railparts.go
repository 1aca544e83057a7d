package report

import (
	"railtally/internal/chart"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// partsView is each rail's part in the power of one state.
type partsView struct {
	ID, Caption string
	Chart       *picture
	Unit        string
	Rows        []partRow
}

type partRow struct {
	Name        string
	Part, Power *cell // each opens to the rail
}

// railParts is nil where there is nothing to divide: one rail, or no total above
// zero.
func (a *assembler) railParts(s *tally.State) (*partsView, error) {
	parts, err := a.t.RailParts(s)
	if err != nil || len(parts) < 2 {
		return nil, err
	}
	v := &partsView{ID: a.anchors.part("parts", s.Board.Name, s.State.Name), Caption: a.say("%s: the part of each rail", on(s.On()))}
	var powers, shares []tally.Figure
	for _, p := range parts {
		share := p.Share
		share.Estimate, share.Expanded = 100*share.Estimate, 100*share.Expanded
		powers, shares = append(powers, p.Power), append(shares, share)
	}
	watts, percents := a.newColumn(quantity.Watt, powers...), a.newColumn(quantity.None)
	v.Unit = watts.Symbol()
	for i, p := range parts {
		row := partRow{Name: p.Name, Part: percents.add(shares[i]), Power: a.power(watts, p.Rail)}
		row.Part.Href = "#" + a.railID(s, p.Rail)
		row.Power.Href = row.Part.Href
		v.Rows = append(v.Rows, row)
	}
	watts.align()
	percents.align()
	v.Chart, err = a.draw(a.anchors.part("parts chart", s.Board.Name, s.State.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Shares(a.t, s.On(), o)
	})
	return v, err
}
