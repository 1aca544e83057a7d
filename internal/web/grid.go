package web

import (
	"net/http"
	"strconv"

	"railtally/internal/notebook"
)

// sheetView is a sitting as a sheet: a row for each thing that is read, a column
// for each visit of a state.
type sheetView struct {
	Study, Sitting int64
	Name           string
	Tables         []sheetTable
}

type sheetTable struct {
	Title   string
	Columns []sheetColumn
	Rows    []sheetRow
}

type sheetColumn struct{ Title, Settings, Key string }

type sheetRow struct {
	Title, What, Unit string
	Cells             []*sheetCell // nil where nothing can be read
}

type sheetCell struct {
	*deskView
	Label string // for who does not see the table
	Field string // identifier on the page
	Key   string
}

// sheet shows a sitting for those who enter out of order.
func (b *bench) sheet(w http.ResponseWriter, r *http.Request) error {
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	v, err := o.sheet(b, study)
	if err != nil {
		return err
	}
	return b.s.render(w, r, "grid", page{Title: "Sheet of " + o.sitting.Name, Study: openedFrom(study, o.record), Tab: "bench", Live: true,
		Styles: []string{"bench.css"}, Scripts: []string{"queue.js", "bench.js"}, Class: "sheet-page", Data: v})
}

func (o *order) sheet(b *bench, study int64) (*sheetView, error) {
	v := &sheetView{Study: study, Sitting: o.id, Name: o.sitting.Name}
	states, zeros := o.split()
	for _, part := range []struct {
		title, id string
		visits    []*visit
	}{{"Readings", "s", states}, {"Zeros", "z", zeros}} {
		x, err := o.table(b, part.visits, part.id)
		if err != nil {
			return nil, err
		}
		x.Title = part.title
		if len(x.Rows) > 0 {
			v.Tables = append(v.Tables, *x)
		}
	}
	return v, nil
}

// split parts visits of states from those of zeros only.
func (o *order) split() (states, zeros []*visit) {
	for _, x := range o.visits {
		if x.State == "" {
			zeros = append(zeros, x)
		} else {
			states = append(states, x)
		}
	}
	return states, zeros
}

// table sets visits out side by side.
func (o *order) table(b *bench, visits []*visit, id string) (*sheetTable, error) {
	out := &sheetTable{}
	var lines []*wanted // one for each row
	for _, x := range visits {
		out.Columns = append(out.Columns, sheetColumn{x.Title, o.settings(x.State), x.Key})
		for _, s := range x.Slots {
			if s.Kind != notebook.Note && !s.Aside || s.Entry != nil {
				lines = addLine(lines, s)
			}
		}
	}
	for i, line := range lines {
		row := sheetRow{Title: line.title(), What: line.what(), Unit: o.bare(line)}
		for j, x := range visits {
			var cell *sheetCell
			for _, s := range x.Slots {
				if sameAsk(s, line) {
					cell = &sheetCell{deskView: o.desk(s, nil), Label: line.title() + " " + line.what() + ", " + x.Title,
						Field: id + "-" + strconv.Itoa(i) + "-" + strconv.Itoa(j)}
					var err error
					if cell.Key, err = b.s.newKey(); err != nil {
						return nil, err
					}
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		out.Rows = append(out.Rows, row)
	}
	return out, nil
}

// addLine adds a row unless there is one for the same thing.
func addLine(lines []*wanted, s *wanted) []*wanted {
	for _, l := range lines {
		if sameAsk(l, s) {
			return lines
		}
	}
	return append(lines, s)
}

// sameAsk tells whether two slots ask for the same at two visits.
func sameAsk(a, b *wanted) bool {
	return a.Kind == b.Kind && a.Rail == b.Rail && a.Tap == b.Tap && a.Instrument == b.Instrument && a.Range == b.Range &&
		a.Name == b.Name && a.Back == b.Back
}
