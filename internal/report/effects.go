package report

import (
	"railtally/internal/chart"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// effectsView says what each factor adds.
type effectsView struct {
	Chart  *picture
	Boards []effectsBoard
}

type effectsBoard struct {
	ID, Name           string
	Problem            string // why there are none
	Unit               string
	Rows               []effectRow
	Share, Consistency string
	Untold             []string // interactions that could not be estimated
	Steps              *picture
}

type effectRow struct {
	Name    string
	Power   *cell
	Carried string
}

// effects is nil where the study varies nothing.
func (a *assembler) effects() (*effectsView, error) {
	v := &effectsView{}
	estimated := false
	for _, b := range a.t.Boards {
		e := b.Effects
		if e == nil {
			continue
		}
		x := effectsBoard{ID: a.anchors.part("effects", b.Name), Name: b.Name, Problem: a.tell(e.Problem)}
		if e.Problem.IsZero() {
			estimated = true
			x.Share, x.Consistency = a.tell(e.ShareText()), a.tell(e.Consistency())
			x.Untold = a.each(e.Untold)
			a.effectRows(&x, e)
		}
		if len(b.Steps) > 0 {
			var err error
			if x.Steps, err = a.stepsChart(b); err != nil {
				return nil, err
			}
		}
		v.Boards = append(v.Boards, x)
	}
	if len(v.Boards) == 0 {
		return nil, nil
	}
	if estimated {
		var err error
		v.Chart, err = a.draw(a.anchors.part("effects chart"), func(o chart.Options) (*chart.Drawing, error) { return chart.Effects(a.t, o) })
		return v, err
	}
	return v, nil
}

func (a *assembler) effectRows(x *effectsBoard, e *tally.Effects) {
	powers := []tally.Figure{e.Base.Power}
	for _, term := range e.Terms {
		powers = append(powers, term.Power)
	}
	col := a.newColumn(quantity.Watt, powers...)
	x.Unit = col.Symbol()
	x.Rows = append(x.Rows, effectRow{Name: a.tell(e.BaseName()), Power: col.add(e.Base.Power), Carried: a.prose(a.Number(string(e.Base.Carriers())))})
	for _, term := range e.Terms {
		x.Rows = append(x.Rows, effectRow{Name: a.tell(term.Name()), Power: col.add(term.Power), Carried: a.prose(a.Number(string(term.Carriers())))})
	}
	col.align()
}

func (a *assembler) stepsChart(b *tally.Board) (*picture, error) {
	return a.draw(a.anchors.part("steps chart", b.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Waterfall(a.t, b.Name, o)
	})
}
