package report

import (
	"fmt"
	"math"

	"railtally/internal/chart"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// mostMatrices is how many boards of a study have their matrix on the page: with
// chart.MostStates states each, that is some 400 kB. Of further boards it is said
// how theirs is drawn.
const mostMatrices = 4

// matricesView is the states of each board, each against each; Left says of
// which boards they are left out.
type matricesView struct {
	Boards []*matrixView
	Left   string
}

// matrixView is a board's states, each against each.
type matrixView struct {
	ID, Name, Caption string
	Chart             *picture
	Unit              string
	Together          string // what p together means
	Rows              []pairRow
}

// pairRow is one difference with what it came from.
type pairRow struct {
	ID, Name                  string
	First, Second, Difference *cell
	Verdict                   *verdict
	Alone, Together           string // probabilities
	How                       string // how ± came about
	Limit                     string
	Within                    string
}

// matrices shows each state of a board against each. A board of fewer than three
// complete states has nothing that the list of differences does not hold; nil
// where all are such.
func (a *assembler) matrices() (*matricesView, error) {
	out := &matricesView{}
	var more []string
	for _, b := range a.t.Boards {
		states := b.Complete()
		if len(states) < 3 {
			continue
		}
		if len(out.Boards) == mostMatrices {
			more = append(more, b.Name)
			continue
		}
		v, err := a.matrix(b, states[:min(len(states), chart.MostStates)])
		if err != nil {
			return nil, err
		}
		out.Boards = append(out.Boards, v)
	}
	if len(more) > 0 {
		out.Left = a.say("Left out for the length of the page: the states of %s, each against each; they can be drawn as charts by themselves.", more)
	}
	if len(out.Boards) == 0 {
		return nil, nil
	}
	return out, nil
}

func (a *assembler) matrix(b *tally.Board, states []*tally.State) (*matrixView, error) {
	rows, err := a.t.Matrix(states)
	if err != nil {
		return nil, err
	}
	v := &matrixView{
		ID: a.anchors.part("matrix", b.Name), Name: b.Name,
		Caption: a.say("What each difference on %s came from", b.Name),
	}
	var all []*tally.Difference
	var figures []tally.Figure
	for _, row := range rows {
		for _, d := range row {
			all, figures = append(all, d), append(figures, d.First.Total, d.Second.Total, d.Difference)
		}
	}
	watts := a.newColumn(quantity.Watt, figures...)
	v.Unit = watts.Symbol()
	v.Together = a.say("p: the probability of so large a difference were there none, alone and with the %d of this table judged together (Holm).", len(all))
	for _, d := range all {
		v.Rows = append(v.Rows, a.pair(watts, d))
	}
	watts.align()
	v.Chart, err = a.draw(a.anchors.part("matrix chart", b.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.MatrixOf(a.t, b.Name, rows, o)
	})
	return v, err
}

func (a *assembler) pair(watts *column, d *tally.Difference) pairRow {
	first, second, _ := d.Names()
	row := pairRow{
		ID: a.anchors.part("pair", a.differenceID(d)), Name: a.lessText(first, second),
		First: watts.add(d.First.Total), Second: watts.add(d.Second.Total), Difference: watts.add(d.Difference),
		Verdict: a.verdict(d), Alone: a.probability(d.P), Together: a.probability(d.FamilyP),
		How: a.shortly(d.Difference),
	}
	row.First.Href, row.Second.Href = "#"+a.stateID(d.First), "#"+a.stateID(d.Second)
	for _, asked := range a.t.Differences {
		if asked.First == d.First && asked.Second == d.Second {
			row.Difference.Href = "#" + a.anchors.part("budget", a.differenceID(d))
		}
	}
	if d.Limit.Name != "" {
		row.Limit = a.say("%s, %s of the variance", phrase.Word(d.Limit.Name), a.percent(d.Limit.Fraction))
	}
	if len(d.Within) > 0 {
		row.Within = a.say("within %s", d.Within)
	}
	return row
}

// shortly is how the half-width of an interval came about, in a cell.
func (t tongue) shortly(f tally.Figure) string {
	u := t.amount(f.U, quantity.Watt, 2)
	if f.DOF < 1000 {
		return t.say("%s × %.2f, %.0f degrees of freedom", u, f.K, math.Floor(f.DOF))
	}
	return t.say("%s × %.2f", u, f.K)
}

// probability prints a probability of a test: two digits, and no more zeros than
// say something.
func (t tongue) probability(p float64) string {
	if p < 0.0001 {
		return "<\u00a0" + t.Number("0.0001")
	}
	return t.Number(fmt.Sprintf("%.2g", p))
}
